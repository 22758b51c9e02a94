import type { CheckedRow } from './row.ts';

const stateOf = ({ ok, must }: CheckedRow) => (ok ? 'ok' : must ? 'NOT OK' : 'look');

/** The rows as a table for a terminal, what is wrong with its fix on a line of its own. */
export function preflightTable(rows: readonly CheckedRow[]): string {
  const width = Math.max(...rows.map(({ what }) => what.length));
  return rows
    .flatMap((row) => [
      `${stateOf(row).padEnd(6)}  ${row.what.padEnd(width)}  ${oneLine(row.found)}`,
      ...(row.ok ? [] : [`${' '.repeat(8)}-> ${oneLine(row.fix)}`]),
    ])
    .join('\n');
}

const oneLine = (text: string) => text.replace(/\s+/g, ' ').trim();
