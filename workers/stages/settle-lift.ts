import type { LiftId, Rep } from '../../src/facts/facts.ts';
import type { Person, Sample } from './course.ts';
import { areApart, type Cycle, goesAsFar } from './cycle.ts';
import type { Lifter } from './lifter.ts';
import { type Movement, movementOf } from './movement.ts';
import { type Reading, readingsOf } from './reps.ts';
import { median, ramp, round2 } from './series.ts';

/** The lift that both pose models agree on best, with its reps in seconds of the clip and how well they fit, 0..1. */
export interface Settled {
  lift: LiftId;
  reps: Rep[];
  fit: number;
  /** Probability, 0..1, that the lift is right. */
  confidence: number;
}

type Witness = Pick<Lifter, 'movement' | 'byBar'> & { readings: readonly Reading[] };

/** Fewest looks of the heavy model that make a witness, and fewest for each rep of a long set. */
const leastLooks = { all: 12, perRep: 4 };
/** The light model's reps are taken when they fit at least this well against the heavy one's; measured: 0.7 to 0.9 do about as well. */
const lightShare = 0.8;

/**
 * Below such a fit to either model a standing lift that the other model sees may be another one (a clean, a lunge, a spotter who bends down), the more
 * so when it was seen once only; what is then left of its confidence. Measured on 208 clips: but for two, unsure already, right lifts fit 0.34 at
 * least with several reps, 0.5 with one.
 * So may one of which the other model, with looks enough, reads nothing: four such were wrong and none right, of 521 clips and copies.
 */
const doubtful = { once: 0.45, often: 0.25, left: 0.6 };

/** How well the reps of a reading fit its lift, 0..1; 0 without a reading. */
export const fitOf = (reading: Reading | undefined) =>
  reading === undefined ? 0 : reading.cycles.reduce((sum, c) => sum + c.score, 0) / reading.cycles.length;

/** A cycle in seconds. */
function repOf({ startS, stepS }: Movement, { start, turn, end }: Pick<Cycle, 'start' | 'turn' | 'end'>): Rep {
  const at = (index: number) => round2(startS + index * stepS);
  return { startS: at(start), turnS: at(turn), endS: at(end) };
}

/** Reps of a reading in seconds. */
export const repsOf = ({ movement }: Pick<Witness, 'movement'>, { cycles }: Reading): Rep[] =>
  cycles.map((c) => repOf(movement, c));

/**
 * Times of a rep by the two models that are this near are met half-way, as one is early where the other is late (plates before the hands of a press from
 * the side); further apart one saw something else. Measured on 350 reps of rendered clips, nine in ten starts within: press 0.19 s (light model alone
 * 0.28), bench press 0.19 (0.31), squat 0.10 (0.12), deadlift 0.19 (0.22); ends 0.25 (0.26), 0.25 (0.20), 0.13 (0.15), 0.15 (0.18).
 */
const nearS = 0.8;

/**
 * Where hands alone drive a rep the bar's times count this share, and all where the models are so far apart about the hands, seconds: plates hide them.
 * Measured on 162 reps of rendered presses and bench presses: of 324 starts and ends 15 are more than 0.25 s off so, 43 with half the light model's and
 * half the bar's.
 */
const byBar = { least: 1 / 3, alikeS: 0.1, apartS: 0.3 };

/** A rep on the way from one's times to another's. */
function between(a: Rep, b: Rep, share: number): Rep {
  const at = (of: keyof Rep) => round2(a[of] + share * (b[of] - a[of]));
  return { startS: at('startS'), turnS: at('turnS'), endS: at('endS') };
}

/** A rep of the light model with the times that the heavy one and the bar give it too. */
function seenTwice(light: Rep, heavy: Rep, bar: Rep | null): Rep {
  const apartS = (of: keyof Rep) => Math.abs(light[of] - heavy[of]);
  const half = between(light, heavy, 0.5);
  const at = (of: keyof Rep) => (apartS(of) <= nearS ? half[of] : light[of]);
  const hands = { startS: at('startS'), turnS: at('turnS'), endS: at('endS') };
  if (bar === null) return hands;
  const { least, alikeS, apartS: farS } = byBar;
  const far = ramp(Math.max(apartS('startS'), apartS('endS')), alikeS, farS);
  return between(hands, bar, least + (1 - least) * far);
}

/** Less than this share of the travel of the reps that both models tell is none where one alone tells it; and so of the bar's way. Chosen. */
const leastTravel = 0.7;
const leastBarWay = 0.3;

/** Whether two have at least half of the shorter one's time in common. */
const overlap = (a: Told, b: Told) =>
  Math.min(a.end, b.end) - Math.max(a.start, b.start) >= 0.5 * Math.min(a.end - a.start, b.end - b.start);

/** A rep in seconds, with how far it goes and whether it is whole; the bar's times, and how far it goes in it, null where it was not followed. */
type Told = Pick<Cycle, 'start' | 'end' | 'amplitudeM' | 'complete'> & { rep: Rep; bar: Rep | null; barM: number | null };

/** Reps of a reading, each with its cycle. */
function toldBy({ movement }: Pick<Witness, 'movement'>, { cycles }: Reading): Told[] {
  return cycles.map((cycle) => {
    const { start, end, amplitudeM, complete } = cycle;
    const [rep, bar] = [repOf(movement, cycle), cycle.bar ? repOf(movement, cycle.bar) : null];
    const way = movement.bar?.slice(start, end + 1);
    const barM = way === undefined ? null : Math.max(...way) - Math.min(...way);
    return { rep, amplitudeM, complete, bar, barM, start: rep.startS, end: rep.endS };
  });
}

/**
 * The reps of a set that two models tell: those of one, at times that both tell, without short ways that the other one does not tell (hands that are
 * lost for a moment seem to go up and down) nor such in which the bar stays where it is, and with whole reps that only the other one saw and that go
 * as far as those which both did.
 */
function seenByBoth(one: readonly Told[], other: readonly Told[]): Rep[] {
  const pairs = one.flatMap((a) =>
    other
      .filter((b) => overlap(a, b))
      .slice(0, 1)
      .map((b) => ({ a, b })),
  );
  const leastM = leastTravel * median(pairs.map(({ a }) => a.amplitudeM));
  const leastBarM = leastBarWay * median(pairs.flatMap(({ a }) => a.barM ?? []));
  const isRep = (a: Told) => a.amplitudeM >= leastM && !(a.barM !== null && a.barM < leastBarM);
  const kept = one.flatMap((a): Rep[] => {
    const b = pairs.find((pair) => pair.a === a)?.b;
    if (b === undefined) return pairs.length === 0 || isRep(a) ? [a.bar ? between(a.rep, a.bar, 0.5) : a.rep] : [];
    // of a rep that one model lost on its way only the other knows the end
    if (b.complete && !a.complete) return [a.bar ? seenTwice({ ...a.rep, endS: b.rep.endS }, b.rep, a.bar) : b.rep];
    return [seenTwice(a.rep, a.complete && !b.complete ? { ...b.rep, endS: a.rep.endS } : b.rep, a.bar)];
  });
  const toldToo = pairs.map(({ b }) => b);
  const more = pairs.length === 0 ? [] : other.filter((b) => goesAsFar(b, toldToo) && one.every((a) => areApart(a, b)));
  return [...kept, ...more.map(({ rep }) => rep)].sort((x, y) => x.startS - y.startS);
}

/**
 * Which lift it is, by two witnesses: the light model, which saw the whole movement, and the heavy one, which saw fewer moments but the hands more
 * surely (`close`, no more than a few a second; too few of them are no witness). The lift with the best sum wins; its reps come from the light
 * model where it counts as many or they fit nearly as well, since it saw more moments; both tell the times, see `seenByBoth`.
 * Where `light` is the heavy one's movement over the whole clip, a part of its looks is no second witness; `alone` is then what the light model read.
 */
export function settleLift(light: Witness, close: readonly Sample[], alone: readonly Reading[] | null = null): Settled {
  const person: Person = { id: 0, samples: [...close] };
  const isWitness = close.length >= Math.max(leastLooks.all, leastLooks.perRep * (light.readings[0]?.cycles.length ?? 0));
  const heavy: Witness | null = isWitness
    ? ((movement) => ({ movement, readings: readingsOf(movement) }))(movementOf(person))
    : null;
  const of = (witness: Witness | null, lift: LiftId) => witness?.readings.find((r) => r.lift === lift);
  const lifts = [...new Set([...light.readings, ...(heavy?.readings ?? [])].map((r) => r.lift))];
  const sums = lifts
    .map((lift) => ({ lift, sum: (of(light, lift)?.score ?? 0) + (of(heavy, lift)?.score ?? 0) }))
    .sort((a, b) => b.sum - a.sum);
  const [best, second] = sums;
  const lift = best!.lift;
  const fromHeavy = of(heavy, lift);
  // a bench press may be read in two ways, by the hands and by the bar
  const ways = light.readings.filter((r) => r.lift === lift);
  const fromLight = ways.find((r) => r.cycles.length === fromHeavy?.cycles.length) ?? ways[0];
  const fit = heavy === null ? fitOf(fromLight) : (fitOf(fromLight) + fitOf(fromHeavy)) / 2;
  const margin = 1 - (second?.sum ?? 0) / best!.sum;
  const sameReps = fromLight?.cycles.length === fromHeavy?.cycles.length;
  const useLight =
    fromLight !== undefined && (sameReps || light.byBar || fromLight.score >= lightShare * (fromHeavy?.score ?? 0));
  const [lightTold, heavyTold] = [fromLight ? toldBy(light, fromLight) : [], heavy && fromHeavy ? toldBy(heavy, fromHeavy) : []];
  // what the heavy model alone reads into a bench on which nothing moves the bar is none
  const besideLight = light.byBar ? heavyTold.filter((b) => lightTold.some((a) => overlap(a, b))) : heavyTold;
  const reps = useLight ? seenByBoth(lightTold, besideLight) : heavyTold.map(({ rep }) => rep);
  // what the heavy model reads elsewhere speaks for no rep that the light one tells
  const shared = fromHeavy?.cycles.filter((_, at) => lightTold.some((a) => overlap(a, heavyTold[at]!))) ?? [];
  const heavyToo = fromHeavy && (shared.length > 0 ? { ...fromHeavy, cycles: shared } : fromHeavy);
  const fits = [fromLight, heavyToo].flatMap((r) => (r === undefined ? [] : fitOf(r)));
  if (alone !== null) fits.push(fitOf(alone.find((r) => r.lift === lift)));
  // lying, the hands are seen by one model and not the other, or by what moves around them alone; but the heavy one alone reads a press into legs as well
  const isRead = alone === null ? light.readings[0]?.lift === lift : alone.some((r) => r.lift === lift);
  const leastFit = reps.length === 1 ? doubtful.once : doubtful.often;
  const agreed = lift === 'bench' ? isRead : Math.min(...fits) >= leastFit && (heavy === null || fromHeavy !== undefined);
  const confidence = 0.3 + 0.68 * Math.min(1, 1.4 * fit) * (0.4 + 0.6 * Math.min(1, 1.5 * margin));
  return {
    lift,
    reps,
    fit: Math.max(fitOf(fromLight), fitOf(fromHeavy)),
    confidence: round2(Math.min(0.98, confidence) * (agreed ? 1 : doubtful.left)),
  };
}
