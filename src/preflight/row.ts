import type { PreflightRow } from '../platforms/port.ts';

/** One line of the table. Without a `must` the bot cannot do its work; the others are worth a look. */
export interface CheckedRow extends PreflightRow {
  must: boolean;
}

/** A row whose fix is only told when it is needed. */
export function row(what: string, ok: boolean, found: string, fix: string, must = true): CheckedRow {
  return { what, ok, found, fix: ok ? '' : fix, must };
}
