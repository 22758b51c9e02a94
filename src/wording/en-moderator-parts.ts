import { ruleNamesForModerators as ruleNames } from './en-rule-names.ts';

/** A rule's id with what it looks at. */
export const ruleSaid = (id: string) => (ruleNames[id] === undefined ? `**${id}**` : `**${id}** (${ruleNames[id]})`);

const day = new Intl.DateTimeFormat('en-GB', { day: 'numeric', month: 'short', timeZone: 'UTC' });
/** A day as 3 Nov. */
export const dayOf = (atMs: number) => day.format(atMs);
const time = new Intl.DateTimeFormat('en-GB', {
  ...({ day: 'numeric', month: 'short', year: 'numeric', hour: '2-digit', minute: '2-digit', timeZone: 'UTC' } as const),
});
/** A time as 3 Nov 2026, 09:00 UTC. */
export const when = (atMs: number) => `${time.format(atMs)} UTC`;
/** A share in whole percent. */
export const percent = (part: number, whole: number) => (whole === 0 ? '–' : `${Math.round((100 * part) / whole)} %`);
