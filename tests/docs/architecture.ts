import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../../', import.meta.url));
/** Folders that put the others together: they may see all, so they are not drawn. */
const roots = ['main', 'cli'];

/** Imports from one folder into another; `byPort`: nothing but ports and payloads is imported. */
export interface Edge {
  from: string;
  to: string;
  byPort: boolean;
}

/** Folder of src that a file is in, `workers` for all below that; null for src/main.ts and what is elsewhere. */
function folderOf(file: string): string | null {
  const [top, folder, ...rest] = relative(root, file).split('/');
  if (top === 'workers') return 'workers';
  return top === 'src' && rest.length > 0 ? folder! : null;
}

/** All edges between folders of src and workers, sorted, without those from the folders that put the others together. */
export function folderEdges(): Edge[] {
  const edges = new Map<string, Edge>();
  for (const top of ['src', 'workers']) {
    const names = readdirSync(join(root, top), { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.ts'));
    for (const file of names.map((name) => join(root, top, name))) {
      const from = folderOf(file);
      if (from === null || roots.includes(from)) continue;
      for (const [, path] of readFileSync(file, 'utf8').matchAll(/(?:from|import)\s*\(?\s*'(\.[^']+)'/g)) {
        const target = resolve(dirname(file), path!);
        const to = folderOf(target);
        if (to === null || to === from) continue;
        const isPort = /\/(port|payload|desks-port)\.ts$/.test(target);
        const known = edges.get(`${from} ${to}`);
        edges.set(`${from} ${to}`, { from, to, byPort: isPort && (known?.byPort ?? true) });
      }
    }
  }
  return [...edges.values()].sort((a, b) => `${a.from} ${a.to}`.localeCompare(`${b.from} ${b.to}`));
}

/** The folders as a Mermaid flowchart; a dotted arrow sees only ports. */
export function picture(): string {
  const edges = folderEdges();
  const lines = edges.map(({ from, to, byPort }) => `  ${from} ${byPort ? '-.->' : '-->'} ${to}`);
  return ['```mermaid', 'flowchart LR', ...lines, '```'].join('\n');
}

const drawn = /```mermaid\nflowchart LR\n[^`]*```/;

/** The picture as it stands in a text, null when there is none. */
export const pictureIn = (text: string): string | null => drawn.exec(text)?.[0] ?? null;

/** The text with the picture of today in the place of its own. */
export const withPicture = (text: string): string => text.replace(drawn, () => picture());
