import type { Style } from './lift-styles.ts';
import type { Movement } from './movement.ts';
import { median } from './series.ts';

/** One cycle of the driving signal, as indices into it. `score` 0..1: how well the posture fits the lift. */
export interface Cycle {
  start: number;
  turn: number;
  end: number;
  amplitudeM: number;
  score: number;
  /** False when it neither comes back to rest within the clip nor is held at the top as one of the set. */
  complete: boolean;
  /** Where hands alone drive it, the bar's own times. */
  bar?: Pick<Cycle, 'start' | 'turn' | 'end'>;
}

/** A cycle is a twin of sure ones (at least this many, of at least this fit) when its rest, turn and travel are theirs within this share of the travel. */
const twins = { least: 2, sureFit: 0.5, apart: 0.15 };

/** A bar that rose less than this share of the hands' way was not followed in that rep. Chosen. */
const leastFollowed = 0.5;
const riseOf = (of: readonly number[], { start, turn }: Pick<Cycle, 'start' | 'turn'>) => of[turn]! - of[start]!;
export const barFollowed =
  ({ bar, wrist }: Movement) =>
  (pull: Pick<Cycle, 'start' | 'turn'>) =>
    bar !== null && riseOf(bar, pull) >= leastFollowed * riseOf(wrist, pull);

/** What the sure cycles of a set have in common; null when they are too few. */
function setOf(v: readonly number[], cycles: readonly Cycle[]) {
  const sure = cycles.filter((c) => c.complete && c.score >= twins.sureFit);
  if (sure.length < twins.least) return null;
  const middle = (of: (c: Cycle) => number, among: (c: Cycle) => boolean = () => true) => median(sure.filter(among).map(of));
  const [travelM, restM, turnM] = [middle((c) => c.amplitudeM), middle((c) => v[c.start]!), middle((c) => v[c.turn]!)];
  const near = (a: number, b: number) => Math.abs(a - b) < twins.apart * travelM;
  return {
    middle,
    isTwin: (c: Cycle) => near(c.amplitudeM, travelM) && near(v[c.start]!, restM) && near(v[c.turn]!, turnM),
    isAtTurn: (height: number) => near(height, turnM),
    isAtRest: (height: number) => near(height, restM),
  };
}

/**
 * A set repeats itself: a whole cycle whose posture was misread (hands behind the plates) but that goes the very same way as at least two sure ones
 * is one of them, at half their score.
 */
export function withTwins(v: readonly number[], cycles: readonly Cycle[]): Cycle[] {
  const set = setOf(v, cycles);
  if (set === null) return [...cycles];
  const isTwin = (c: Cycle) => c.complete && set.isTwin(c);
  return cycles.map((c) => (isTwin(c) ? { ...c, score: Math.max(c.score, 0.5 * set.middle(({ score }) => score)) } : c));
}

/**
 * A pull that is held came up with the bar: hands and bar rose at least this share of what they do in the pulls in which the bar was followed. Measured:
 * standing up without it the one or the other rises 0.82 of that at most (13 rendered sets), with it 0.87 and more (two real ones).
 */
const leastRise = 0.85;

/**
 * A lift that goes up first is done at the lockout. One that goes the very same way as the sure ones and is still held when the clip ends is a whole rep;
 * standing up without the bar after a set of deadlifts is none.
 */
export function withHeld(v: readonly number[], cycles: readonly Cycle[], m: Movement, { lift }: Style): Cycle[] {
  const [set, last] = [setOf(v, cycles), cycles.at(-1)];
  if (set === null || last === undefined || last.complete || !set.isTwin(last)) return [...cycles];
  if (!v.slice(last.turn).every(set.isAtTurn)) return [...cycles];
  const isUp = (of: readonly number[]) => riseOf(of, last) >= leastRise * set.middle((c) => riseOf(of, c), barFollowed(m));
  if (lift === 'deadlift' && !(m.bar !== null && isUp(m.bar) && isUp(m.wrist))) return [...cycles];
  // one that does not come back counted half
  return [...cycles.slice(0, -1), { ...last, complete: true, score: 2 * last.score }];
}

/** A longer way is no rep: a grind takes ten seconds (common practice). */
export const longestRepS = 14;

/**
 * A bar that has come up by this much, metres, is down again at least this share of the way below its top, where it sinks by less than another share of
 * it in a time, seconds. Chosen.
 */
const barWay = { leastM: 0.22, back: 0.5, sinks: 0.035, overS: 0.2 };

/** Where a bar that comes up from `start` on turns and where it is down again; null when it is not. */
function downAgain(bar: readonly number[], stepS: number, start: number): { top: number; down: number } | null {
  const last = Math.min(bar.length - 1, start + Math.round(longestRepS / stepS));
  const later = Math.round(barWay.overS / stepS);
  let [floor, top] = [start, start];
  for (let at = start; at <= last; at++) {
    if (bar[at]! > bar[top]!) top = at;
    if (top === floor && bar[at]! < bar[floor]!) [floor, top] = [at, at];
    const riseM = bar[top]! - bar[floor]!;
    if (riseM < barWay.leastM || bar[top]! - bar[at]! < barWay.back * riseM) continue;
    while (at < last && bar[at]! - bar[Math.min(last, at + later)]! > barWay.sinks * riseM) at++;
    return { top, down: at };
  }
  return null;
}

/**
 * Pulls whose shoulders were not seen to come down again, though the bar was, each with the time at which it is down: it is dropped, or put down so
 * quickly that the body is lost.
 */
export function withBarDown(pulls: readonly Cycle[], { bar, stepS }: Movement): Cycle[] {
  if (bar === null) return [...pulls];
  return pulls.map((pull): Cycle => {
    const way = pull.complete ? null : downAgain(bar, stepS, pull.start);
    if (way === null) return pull;
    // one that does not come back counted half
    return { ...pull, turn: Math.min(pull.turn, way.top), end: way.down, complete: true, score: 2 * pull.score };
  });
}

/** A rep that had begun before somebody was seen is counted with this share of its way to the turn in view, up to that one. Chosen. */
const underWay = { least: 0.4, most: 0.85 };

/**
 * A set whose first rep had begun before the lifter was seen: what goes on from there to the same turn as the sure cycles and back to the same rest is a
 * whole rep. Of a deadlift hands and bar come up with it. `endOf`: where the way back from a turn to the place of rest ends.
 */
export function withUnderWay(
  v: readonly number[],
  cycles: readonly Cycle[],
  m: Movement,
  { lift }: Style,
  [from, endOf]: [from: number, endOf: (turn: number, rest: number, amplitudeM: number) => number],
): Cycle[] {
  const later = cycles.filter((c) => c.start > from);
  const [set, first] = [setOf(v, later), later[0]];
  if (set === null || first === undefined) return [...cycles];
  const indexOf = (start: number, end: number, wins: (a: number, b: number) => boolean) => {
    let best = start;
    for (let at = start; at <= end; at++) if (wins(v[at]!, v[best]!)) best = at;
    return best;
  };
  const rest = indexOf(from, first.start, (a, b) => a > b);
  const turn = indexOf(from, rest, (a, b) => a < b);
  const travelM = set.middle((c) => c.amplitudeM);
  const seen = (v[from]! - v[turn]!) / travelM;
  if (!set.isAtTurn(v[turn]!) || !set.isAtRest(v[rest]!) || seen < underWay.least || seen > underWay.most) return [...cycles];
  const rises = (of: readonly number[] | null) => {
    if (of === null) return false;
    const inSet = set.middle((c) => riseOf(of, c) / -riseOf(v, c), barFollowed(m));
    return riseOf(of, { start: from, turn }) / -riseOf(v, { start: from, turn }) >= leastRise * inSet;
  };
  if (lift === 'deadlift' && !(rises(m.wrist) && rises(m.bar))) return [...cycles];
  const score = set.middle((c) => c.score);
  return [{ start: from, turn, end: endOf(turn, rest, travelM), amplitudeM: travelM, score, complete: true }, ...later];
}

/** A rep of one signal and one of another are the same when they have at least this share of their time in common. Chosen. */
const leastCommon = 0.5;

type Span = Pick<Cycle, 'start' | 'end'>;

/** Whether what two signals tell, in the same unit of time, is one rep. */
export function isSame(a: Span, b: Span): boolean {
  const common = Math.min(a.end, b.end) - Math.max(a.start, b.start);
  return common >= leastCommon * (Math.max(a.end, b.end) - Math.min(a.start, b.start));
}

/** Whether they have no time in common. */
export const areApart = (a: Span, b: Span) => a.end <= b.start || a.start >= b.end;

/** A rep that one witness alone tells is one of the set when it travels as far as those that both tell, within this share. Chosen. */
const twinTravel = 0.25;

/** Whether a whole rep goes as far as those of its witness that another one tells too. */
export function goesAsFar(one: Pick<Cycle, 'amplitudeM' | 'complete'>, told: readonly Pick<Cycle, 'amplitudeM'>[]): boolean {
  const travelM = median(told.map((c) => c.amplitudeM));
  return one.complete && Math.abs(one.amplitudeM - travelM) < twinTravel * travelM;
}

/** How much cycles speak for their lift. */
export const scoreOf = (cycles: readonly Cycle[]) =>
  cycles.reduce((sum, c) => sum + c.score * Math.min(1, c.amplitudeM / 0.3), 0);
