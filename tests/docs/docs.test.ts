import { execFile } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { z } from 'zod';
import { invitePermissions } from '../../src/platforms/discord/preflight.ts';
import { parseSettings } from '../../src/settings/load.ts';
import { SettingsFile } from '../../src/settings/schema.ts';
import { picture, pictureIn } from './architecture.ts';

const root = fileURLToPath(new URL('../../', import.meta.url));
const read = (path: string) => readFileSync(join(root, path), 'utf8');
const pages = [
  ...['README.md', 'DEVELOPERS.md', 'CHANGELOG.md'],
  ...readdirSync(join(root, 'deploy'))
    .filter((name) => name.endsWith('.md'))
    .map((name) => `deploy/${name}`),
];
const scripts = (JSON.parse(read('package.json')) as { scripts: Record<string, string> }).scripts;
const sources = (folder: string) =>
  readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.ts'))
    .map((name) => read(join(folder, name)))
    .join('\n');
/** What looks like a setting or a variable and is neither. */
const others = ['discord.com', 'APPLICATION_ID'];
const inTicks = (text: string) => [...text.matchAll(/`([^`\n]+)`/g)].map(([, inner]) => inner!);

describe.each(pages)('%s', (page) => {
  const text = read(page);

  it('names only commands that are there', () => {
    const named = [...text.matchAll(/\bnpm (?:run (?:-s )?|(?=start|test|ci\b))([a-z][a-z-]*)/g)].map(([, name]) => name!);
    expect(named.filter((name) => !['ci', ...Object.keys(scripts)].includes(name))).toEqual([]);
  });

  it('links only to what is there', () => {
    const links = [...text.matchAll(/\]\(([^)#\s]+)\)/g)].map(([, link]) => link!).filter((link) => !/^[a-z]+:/.test(link));
    expect(links.filter((link) => !existsSync(join(root, dirname(page), link)))).toEqual([]);
    const paths = inTicks(text).filter((inner) => /^(src|workers|config|deploy|tests|samples|scripts)\/[\w./-]+$/.test(inner));
    const made = ['deploy/.env'];
    expect(paths.filter((path) => !made.includes(path) && !existsSync(join(root, path)))).toEqual([]);
  });

  it('names only settings and variables that are there', () => {
    const schema = z.toJSONSchema(SettingsFile, { io: 'input', reused: 'inline' }) as { properties: Record<string, unknown> };
    const sections = Object.keys(schema.properties);
    const settings = inTicks(text).filter((inner) => new RegExp(`^(${sections.join('|')})\\.\\w+(\\.\\w+)*$`).test(inner));
    const has = (path: string) => {
      let here: unknown = schema;
      for (const name of path.split('.'))
        here = (here as { properties?: Record<string, unknown> } | undefined)?.properties?.[name];
      return here !== undefined;
    };
    expect(settings.filter((path) => !has(path) && !others.includes(path))).toEqual([]);
    const known = [...read('deploy/.env.example').matchAll(/^([A-Z_]+)=/gm)].map(([, name]) => name!);
    const variables = inTicks(text).flatMap((inner) => /^([A-Z]+(?:_[A-Z]+)+)(?:=\S*)?$/.exec(inner)?.[1] ?? []);
    expect(variables.filter((name) => !known.includes(name) && !others.includes(name))).toEqual([]);
  });

  it('shows settings that can be used as they are', () => {
    for (const [, yaml] of text.matchAll(/^ *```yaml\n([\s\S]*?)^ *```/gm)) {
      const indent = /^ */.exec(yaml!)![0].length;
      const plain = yaml!
        .split('\n')
        .map((line) => line.slice(indent))
        .join('\n');
      expect(() => parseSettings(plain, page)).not.toThrow();
      expect(parse(plain)).not.toBe(null);
    }
  });
});

describe('commands', () => {
  it('are all described', () => {
    const text = read('README.md') + read('DEVELOPERS.md');
    const hidden = ['pretest'];
    const missing = Object.keys(scripts).filter(
      (name) => !hidden.includes(name) && !new RegExp(`npm (run (-s )?)?${name}\\b`).test(text),
    );
    expect(missing).toEqual([]);
  });

  /** Runs a line as a shell does and gives its exit code and output. */
  const run = (line: string, env: Record<string, string> = {}) =>
    new Promise<{ code: number; out: string; errors: string }>((resolve) => {
      const options = { cwd: root, env: { PATH: process.env.PATH ?? '', HOME: tmpdir(), ...env } };
      const child = execFile('sh', ['-c', line], options, (_, out, errors) =>
        resolve({ code: child.exitCode ?? -1, out, errors }),
      );
    });

  it('of the README do what it says: the sample clip is checked', { timeout: 180_000 }, async () => {
    const line = /`(npm run -s check -- samples\/[^`]+)`/.exec(read('README.md'))![1]!.replaceAll('\n', ' ');
    const { code, out, errors } = await run(line);
    expect({ code, errors }).toMatchObject({ code: 0 });
    expect(out).toMatch(/^samples\/squat-side\.mp4/m);
    expect(out.length).toBeGreaterThan(100);
  });

  it('of the README do what it says: the doctor finds what a room needs', { timeout: 180_000 }, async () => {
    const data = mkdtempSync(join(tmpdir(), 'quarterview-test-docs-'));
    const { code, out, errors } = await run('npm run -s doctor', { DATA_FOLDER: data });
    rmSync(data, { recursive: true });
    expect({ code, out, errors }).toMatchObject({ code: 0 });
    expect(out).toMatch(/^ok +Node/m);
    expect(out).toMatch(/^ok +ffmpeg/m);
  });

  it('write the schemas as they stand', { timeout: 120_000 }, async () => {
    const { code, out } = await run('npm run -s schemas');
    expect(code).toBe(0);
    const written = out.trim().split('\n');
    expect(written).toEqual(
      expect.arrayContaining(['config/settings.schema.json', 'config/rules.schema.json', 'deploy/settings.md']),
    );
    expect(written.filter((path) => !existsSync(join(root, path)))).toEqual([]);
  });
});

describe('deploy', () => {
  it('discord.md gives the permissions and intents of the code', () => {
    const text = read('deploy/discord.md');
    expect([...text.matchAll(/permissions=(\d+)/g)].map(([, number]) => number)).toEqual([String(invitePermissions)]);
    expect(text).toContain(`The number \`${invitePermissions}\``);
    // Discord docs, gateway: Guilds 1 << 0, GuildMessages 1 << 9, MessageContent 1 << 15.
    expect(text).toContain(`number ${(1 << 0) | (1 << 9) | (1 << 15)})`);
  });

  it.each(['discord', 'slack'])('%s.md quotes only what the bot says', (platform) => {
    const code = sources(`src/platforms/${platform}`) + sources('src/main');
    const rows = read(`deploy/${platform}.md`)
      .split('\n')
      .filter((line) => /^\| .*"/.test(line));
    const quoted = rows.flatMap((line) => [...line.split('|')[1]!.matchAll(/"([^"]+)"/g)].map(([, words]) => words!));
    const said = (words: string) => {
      // A number in the words stands for what the code fills in.
      const parts = words.split(/\d+|\.\.\./).map((part) => part.trim());
      return parts.every((part) => code.includes(part));
    };
    expect(quoted.length).toBeGreaterThan(2);
    expect(quoted.filter((words) => !said(words))).toEqual([]);
  });
});

describe('the picture of the folders', () => {
  it('is as the code is', () => {
    expect(pictureIn(read('DEVELOPERS.md')), 'draw it anew with npm run -s picture').toBe(picture());
  });
});
