import { execFileSync, spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Ajv } from 'ajv';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { checkArguments } from '../../src/cli/check-arguments.ts';
import { CheckResult } from '../../src/cli/check-result.ts';

const command = fileURLToPath(new URL('../../src/cli/check.ts', import.meta.url));
const schema = readFileSync(new URL('../../config/check-result.schema.json', import.meta.url), 'utf8');
const sample = fileURLToPath(new URL('../../samples/squat-side.mp4', import.meta.url));
const run = (...args: string[]) => spawnSync(process.execPath, ['--import', 'tsx', command, ...args], { encoding: 'utf8' });
const ffmpeg = (...args: string[]) => execFileSync('ffmpeg', ['-v', 'error', '-y', ...args]);
const linesOf = (stdout: string) =>
  stdout
    .trimEnd()
    .split('\n')
    .map((line) => JSON.parse(line));

let folder: string;
let clip: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'quarterview-check-'));
  clip = join(folder, 'clip.mp4');
  const source = ['-f', 'lavfi', '-i', 'gradients=size=180x320:rate=30:duration=1:seed=3'];
  ffmpeg(...source, '-pix_fmt', 'yuv420p', '-movflags', 'faststart', clip);
});
afterAll(() => rmSync(folder, { recursive: true }));

describe('bad input', () => {
  it('answers each file with a sentence and a code, goes on, and exits with 1', () => {
    const at = (name: string) => join(folder, name);
    const put = (name: string, content: string | Buffer) => writeFileSync(at(name), content);
    put('empty.mp4', '');
    put('text.mp4', 'squat 3x5 at 140, felt fine');
    put('playlist.mp4', '#EXTM3U\n#EXT-X-TARGETDURATION:4\n#EXTINF:4,\nfile:///etc/hostname\n#EXT-X-ENDLIST\n');
    ffmpeg('-f', 'lavfi', '-i', 'testsrc2=size=64x64', '-frames:v', '1', at('picture.jpg'));
    ffmpeg('-f', 'lavfi', '-i', 'sine=duration=1', '-c:a', 'aac', at('sound.mp4'));
    put('cut-off.mp4', readFileSync(clip).subarray(0, statSync(clip).size * 0.6));
    mkdirSync(at('folder.mp4'));
    const bad = {
      'empty.mp4': 'clip-empty',
      'text.mp4': 'clip-not-video',
      'playlist.mp4': 'clip-playlist',
      'picture.jpg': 'clip-image-or-audio-only',
      'sound.mp4': 'clip-image-or-audio-only',
      'cut-off.mp4': 'clip-damaged',
      'folder.mp4': 'clip-not-video',
      'nothing.mp4': 'clip-missing',
      'no\nthing "at" all.mp4': 'clip-missing',
    };
    const odd = [`two\nlines, it's "odd" 💪 %03d $(id).mp4`, 'concat:a|b.mp4'];
    for (const name of odd) put(name, readFileSync(clip));
    put('-x.mp4', readFileSync(clip));

    const files = [...Object.keys(bad), ...odd].map(at);
    const { status, stdout, stderr } = spawnSync(
      process.execPath,
      ['--import', import.meta.resolve('tsx'), command, '--json', ...files, '--', '-x.mp4'],
      { encoding: 'utf8', cwd: folder },
    );
    expect(stderr).toBe('');
    expect(status).toBe(1);
    const results = linesOf(stdout).map((line) => CheckResult.parse(line));
    expect(results.map(({ file }) => file)).toEqual([...files, '-x.mp4']);
    const codes = results.map((result) => ('error' in result ? result.error.code : result.verdict));
    expect(codes).toEqual([...Object.values(bad), ...odd.map(() => 'fix'), 'fix']);
    for (const result of results) {
      const said = 'error' in result ? result.error.message : result.reply.text;
      expect(said).toMatch(/^\S.*[.!]/);
      expect(said).not.toMatch(/Error|\bat .*:\d+:\d+|clip-|undefined|NaN/);
    }
    const valid = new Ajv({ allowUnionTypes: true }).compile(JSON.parse(schema));
    for (const line of linesOf(stdout)) expect(valid(line), JSON.stringify(valid.errors)).toBe(true);
    const [judged] = linesOf(stdout).slice(-1);
    expect(valid({ ...judged, verdict: 'perfect' })).toBe(false);
    expect(valid({ ...judged, error: { code: 'clip-empty', message: '' } })).toBe(false);
  });

  it('tells people the sentence and the code, a name on one line', () => {
    const { status, stdout, stderr } = run(join(folder, 'no\nsuch.mp4'));
    expect([status, stderr]).toEqual([1, '']);
    expect(stdout.split('\n')[0]).toMatch(/no\\nsuch\.mp4"$/);
    expect(stdout).toContain('(clip-missing)');
    expect(stdout).not.toContain('\x1b');
  });
});

describe('a clip with dead time', () => {
  const out = () => join(folder, 'out');
  let result: Extract<CheckResult, { verdict: unknown }>;

  /** The sample lift with its first and last picture held, a place in its metadata, and a name that needs care. */
  beforeAll(() => {
    const long = join(folder, '-Odo: squat "60 kg".mp4');
    const held = 'tpad=start_mode=clone:start_duration=6:stop_mode=clone:stop_duration=2';
    const place = ['-movflags', 'use_metadata_tags', '-metadata', 'location=+48.0+011.0/'];
    ffmpeg('-i', sample, '-vf', held, '-c:v', 'libx264', '-preset', 'ultrafast', ...place, long);
    const { status, stdout, stderr } = run('--json', '--caption', 'squat 60kg x2', '--out', out(), long);
    expect([status, stderr]).toEqual([0, '']);
    const parsed = CheckResult.parse(linesOf(stdout)[0]);
    if ('error' in parsed) throw new Error(parsed.error.code);
    result = parsed;
  });

  it('is judged with its caption', () => {
    expect(result.facts.caption).toMatchObject({ known: true, value: { lift: 'squat', loadKg: 60, reps: 2 } });
    expect(result.facts.reps.known && result.facts.reps.value.length).toBe(2);
    expect(result.findings.map(({ rule }) => rule)).toContain('dead-time');
  });

  it('is written trimmed, without its metadata, under a safe name', () => {
    const { trimmed } = result;
    expect(trimmed?.path).toBe(join(out(), 'Odo-squat-60-kg.trimmed.mp4'));
    expect(trimmed!.startS).toBeGreaterThan(5);
    const told = execFileSync('ffprobe', ['-v', 'error', '-show_format', '-of', 'json', trimmed!.path], { encoding: 'utf8' });
    const { format } = JSON.parse(told);
    expect(Number(format.duration)).toBeCloseTo(trimmed!.endS - trimmed!.startS, 0);
    expect(told).not.toContain('+48.0');
    expect(Number(format.size)).toBeLessThan(10 * 1024 * 1024);
  });

  it('gets pictures with words for who cannot see them, and nothing else is written', () => {
    expect(result.reply.pictures.map(({ path }) => path)).toContain(join(out(), 'Odo-squat-60-kg.clip-timeline.png'));
    for (const { path, alt } of result.reply.pictures) {
      expect(readFileSync(path).subarray(1, 4).toString()).toBe('PNG');
      expect(alt.length).toBeGreaterThan(20);
    }
    const written = [...result.reply.pictures.map(({ path }) => path), result.trimmed!.path].map((path) =>
      path.split('/').at(-1),
    );
    expect(readdirSync(out()).sort()).toEqual(written.sort());
  });
});

describe('wrong words', () => {
  it.each([
    ['no file', [], 'name at least one file'],
    ['a file without a name', [''], 'a file has an empty name'],
    ['no such lift', ['x.mp4', '--lift', 'juggling'], '--lift is "juggling", and may be squat, press, deadlift, bench, other'],
    ['no such view', ['x.mp4', '--request', 'top'], '--request is "top", and may be front, '],
    ['no such option', ['x.mp4', '--colour'], "Unknown option '--colour'"],
    ['an option without its word', ['x.mp4', '--out'], "Option '--out <value>' argument missing"],
  ])('%s', (_, words, said) => {
    expect(() => checkArguments(words)).toThrow(said);
  });

  it.each([
    ['no such option', ['x.mp4', '--colour'], "Unknown option '--colour'"],
    ['no such rules', ['x.mp4', '--rules', 'no-such.yaml'], 'no-such.yaml: the file cannot be read (ENOENT)'],
    ['a folder that cannot be', ['x.mp4', '--out', command], 'EEXIST'],
  ])('%s: the command exits with 2 and tells what may be said', (_, args, said) => {
    const { status, stdout, stderr } = run(...args);
    expect([status, stdout]).toEqual([2, '']);
    expect(stderr).toContain(said);
    expect(stderr).toContain('check FILE...');
    expect(stderr).not.toMatch(/\n\s+at /);
  });
});

it('judges by the rules that it is given', () => {
  const rules = join(folder, 'lenient.yaml');
  const off = Object.keys(parse(readFileSync(new URL('../../config/rules.yaml', import.meta.url), 'utf8')));
  writeFileSync(rules, off.map((rule) => `${rule}: { severity: off }`).join('\n'));
  const { status, stdout } = run(clip, '--rules', rules, '--json');
  expect(status).toBe(0);
  expect(linesOf(stdout)[0]).toMatchObject({ verdict: 'clean', findings: [], reply: { pictures: [] } });
});

it('ends at once on an interrupt, with its measuring process', async () => {
  const child = spawn(process.execPath, ['--import', 'tsx', command, ...Array.from({ length: 50 }, () => clip), '--json']);
  await new Promise((resolve) => child.stdout.once('data', resolve));
  const own = `/proc/${child.pid}/task/${child.pid}/children`;
  const workers = existsSync(own) ? readFileSync(own, 'utf8').trim().split(' ') : [];
  expect(workers.length).toBeGreaterThan(0);
  child.kill('SIGINT');
  const [code] = await new Promise<[number | null]>((resolve) => child.once('exit', (...ended) => resolve([ended[0]])));
  expect(code).toBe(130);
  await expect.poll(() => workers.filter((pid) => isRunning(pid)), { timeout: 5000 }).toEqual([]);
});

/** Neither gone nor a zombie that nobody waits for. */
function isRunning(pid: string): boolean {
  try {
    return !/^\d+ \(.*\) [ZX]/.test(readFileSync(`/proc/${pid}/stat`, 'utf8'));
  } catch {
    return false;
  }
}
