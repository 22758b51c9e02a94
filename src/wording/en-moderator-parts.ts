/** What a rule looks at, for moderators. */
const ruleNames: Readonly<Record<string, string>> = {
  'lifter-present': 'somebody is in the picture',
  orientation: 'which way up it plays',
  cuts: 'cuts',
  'lift-in-clip': 'a full rep',
  view: 'where the phone stands',
  'parts-in-frame': 'the whole body stays in the picture',
  obstruction: 'things in front of the lifter',
  'camera-height': "the phone's height",
  distance: "the phone's distance",
  'lifter-size': "the lifter's size in the picture",
  light: 'the light',
  steadiness: 'a steady phone',
  'dead-time': 'waiting before and after the lift',
  'one-set': 'one set in a clip',
  'playback-speed': 'playing speed',
  'one-lifter': 'who the lifter is',
  'lift-known': 'which lift it is',
  'as-captioned': 'caption and clip together',
  'clip-length': "the clip's length",
  sharpness: 'a sharp picture',
  resolution: 'enough picture dots',
  'frame-rate': 'enough pictures a second',
  'picture-shape': 'upright or sideways phone',
};

/** A count with its noun. */
export const count = (n: number, one: string, many = `${one}s`) => `${n} ${n === 1 ? one : many}`;
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
