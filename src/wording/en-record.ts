import { count } from './en-phrases.ts';
import { roundTo } from './numbers.ts';
import type { ChangeSaid, EarlierSaid, LossSaid, RecordWords } from './record-words.ts';

const mps = (v: number) => v.toFixed(2);
/** Above this many reps only the first, the fastest and the last are said. Chosen: one line on a phone. */
const mostSaid = 8;

/** The unit stands behind the last number. */
function meansText(means: readonly (number | null)[]): string {
  const lastTold = means.findLastIndex((v) => v !== null);
  if (means.length <= mostSaid)
    return means.map((v, i) => (v === null ? 'not told' : `${mps(v)}${i === lastTold ? ' m/s' : ''}`)).join(', ');
  const told = means.flatMap((v, i) => (v === null ? [] : [{ v, rep: i + 1 }]));
  const fastest = told.reduce((a, b) => (b.v > a.v ? b : a));
  const said = [...new Set([told[0]!, fastest, told.at(-1)!])];
  return `${said.map(({ v, rep }) => `rep ${rep} ${mps(v)}`).join(', ')} m/s`;
}

function lossText({ percent, spreadPoints }: LossSaid): string {
  if (percent <= spreadPoints) return `No loss over the set that shows (less than ${Math.ceil(spreadPoints)} % cannot be told).`;
  return `Loss from the fastest rep to the last: ${Math.round(percent)} % (± ${Math.ceil(spreadPoints)}).`;
}

const than = ({ day, loadText }: EarlierSaid) => `${day}${loadText === null ? '' : ` with ${loadText}`}`;
const over = ({ reps }: ChangeSaid) => (reps === 1 ? 'one rep' : `the first ${reps} reps`);
const by = ({ percent, spreadPoints }: ChangeSaid) =>
  `about ${Math.abs(Math.round(percent))} % (± ${Math.ceil(spreadPoints)}) over`;

/** English. */
export const recordWords: RecordWords = {
  speed: ({ means, peakMps, spreadMps, loss, assumed }) =>
    [
      `Bar speed on the way up, ${means.length === 1 ? 'mean' : 'mean of each rep'}: ${meansText(means)} (± ${mps(spreadMps)}${assumed ? ', for a lifter of average height' : ''}), peak ${mps(peakMps)}.`,
      ...(loss === null ? [] : [lossText(loss)]),
    ].join(' '),
  speedUnknown: (reason) => `Bar speed: cannot tell (${reason}).`,
  faster: (change, earlier) => `Faster than on ${than(earlier)}: ${by(change)} ${over(change)}.`,
  slower: (change, earlier) => `Slower than on ${than(earlier)}: ${by(change)} ${over(change)}.`,
  same: (change, earlier) =>
    `As fast as on ${than(earlier)}, as far as the video tells (less than ${Math.ceil(change.spreadPoints)} % cannot be told).`,
  notCompared: {
    'other-lift': 'Not compared: the earlier set is another lift.',
    'load-unknown': 'Not compared: the load is not in the caption.',
    'other-load': 'Not compared: the earlier set has another load.',
    'speed-unknown': 'Not compared: the bar speed of one of the sets could not be told.',
  },
  chart: {
    title: 'Bar speed on the way up, mean, m/s',
    thisSet: 'this set',
    rep: 'rep',
    note: (sharedPercent) =>
      `Thin lines: spread from rep to rep. All together may be up to ${roundTo(sharedPercent, 1)} % higher or lower.`,
    alt: ({ means, peakMps, earlier, spreadMps }) =>
      [
        `Chart of the bar speed in ${count(means.length, 'rep')}: mean of the way up ${meansText(means)}, give or take ${mps(spreadMps)}, peak ${mps(peakMps)} m/s.`,
        earlier === null ? '' : `Beside it the set of ${earlier.day}: ${meansText(earlier.means)}.`,
      ]
        .filter((part) => part !== '')
        .join(' '),
  },
};
