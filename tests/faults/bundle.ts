import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { build } from 'esbuild';

const root = fileURLToPath(new URL('../../', import.meta.url));

/** Paths of the programs of a fault run, each bundled into one file: they start in a quarter of a second instead of two. */
export interface Programs {
  bot: string;
  host: string;
  measuring: string;
  remove(): void;
}

/** Bundles them into a temporary folder. Packages with native parts are still taken from the project. */
export async function bundlePrograms(): Promise<Programs> {
  const folder = mkdtempSync(join(tmpdir(), 'quarterview-programs-'));
  const entries = {
    bot: new URL('./fixtures/bot-process.ts', import.meta.url),
    host: new URL('./fixtures/host-process.ts', import.meta.url),
    measuring: new URL('./fixtures/measuring-process.ts', import.meta.url),
  };
  await build({
    entryPoints: Object.fromEntries(Object.entries(entries).map(([name, url]) => [name, fileURLToPath(url)])),
    outdir: folder,
    outExtension: { '.js': '.cjs' },
    bundle: true,
    platform: 'node',
    format: 'cjs',
    logLevel: 'error',
    external: ['better-sqlite3', '@resvg/resvg-js', 'pg-native'],
    define: { 'import.meta.url': 'projectUrl' },
    banner: {
      js: `const projectUrl = ${JSON.stringify(pathToFileURL(join(root, 'src/bot/bot.ts')).href)}; require = require('node:module').createRequire(projectUrl);`,
    },
  });
  const path = (name: string) => join(folder, `${name}.cjs`);
  return {
    bot: path('bot'),
    host: path('host'),
    measuring: path('measuring'),
    remove: () => rmSync(folder, { recursive: true, force: true }),
  };
}
