import type { LiftId } from '../../src/facts/facts.ts';

/** What the render rig is asked for; its README explains each field. */
export type ClipSpec = {
  lift: Exclude<LiftId, 'other'>;
  seed: number;
  width: number;
  height: number;
  stature: number;
  camera: { azimuth: number; height: number; distance: number } & Record<string, unknown>;
} & Record<string, unknown>;

/** Uniform numbers from 0 to 1, the same for the same seed (mulberry32, public domain, from memory). */
export function numbersFrom(seed: number): () => number {
  let state = (seed * 2654435761 + 12345) >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}

const lifts = ['squat', 'press', 'deadlift', 'bench'] as const;
const colors = ['#23262a', '#8e2f2b', '#2c4f8f', '#c7a63a', '#2f6b45', '#d8d8d4'];

/** A clip of one lift, filmed from anywhere around it, well or badly; the ranges are invented, wider than what members film. */
export function randomClip(seed: number): ClipSpec {
  const random = numbersFrom(seed * 7919 + 13);
  for (let skip = 0; skip < 5; skip++) random();
  const from = (low: number, high: number) => Number((low + (high - low) * random()).toFixed(2));
  const chance = (share: number) => random() < share;
  const oneOf = <T>(list: readonly T[]): T => list[Math.floor(random() * list.length)]!;

  const lift = lifts[(seed - 1) % lifts.length]!;
  const bench = lift === 'bench';
  const model = oneOf(['male', 'male', 'female', 'heavy']);
  const azimuth = Number(from(-180, 180).toFixed(1));
  const [floor, far, wide, close] = [chance(0.12), chance(0.1), chance(0.25), chance(0.12)];
  const height = floor ? from(0.03, 0.2) : from(0.4, 2.1);
  const usual = (far ? from(6, 8) : bench ? from(2.2, 3.6) : from(2.4, 4.2)) * (wide ? 1.35 : 1);
  const distance = Number((close ? from(1.6, 2.1) : usual).toFixed(2));
  const shake = oneOf([0, 0, 0.2, 0.5, 1, 4]);
  const aim = close ? [0, oneOf([1.4, 0.7]), 0] : [from(-0.3, 0.3), bench ? from(0.55, 0.85) : from(0.8, 1.15), bench ? -0.1 : 0];
  const roll = chance(0.3) ? { roll: from(-6, 6) } : {};
  const stature = model === 'female' ? from(1.55, 1.75) : from(1.65, 1.95);
  const reps = oneOf([1, 2, 2, 3]);
  const lead = chance(0.25) ? from(3.6, 7) : from(0.8, 2.5);
  const tail = chance(0.2) ? from(4, 5) : from(0.8, 2);
  const plates = Array.from({ length: 1 + Math.floor(random() * 2.2) }, (_, at) => ({
    r: at === 0 ? oneOf([0.225, 0.225, 0.225, 0.16]) : oneOf([0.225, 0.19, 0.16]),
    w: from(0.03, 0.07),
    color: oneOf(colors),
  }));
  const tempo = { down: from(0.7, 2), hold: from(0.05, 0.6), up: from(0.6, 2), rest: from(0.4, 1.8) };
  const form = {
    squat: () => ({
      ...{ lean: from(30, 55), stance: from(0.15, 0.27), toeOut: from(8, 35) },
      ...{ grip: from(0.3, 0.48), depth: from(-0.08, 0.12) },
    }),
    press: () => ({ stance: from(0.12, 0.2), grip: from(0.22, 0.33) }),
    deadlift: () => ({ lean: from(45, 65), stance: from(0.1, 0.2), grip: from(0.24, 0.33) }),
    bench: () => ({ grip: from(0.3, 0.46) }),
  }[lift]();
  const rack = chance(0.5) ? { rack: true } : {};
  const light = oneOf(['normal', 'normal', 'normal', 'normal', 'normal', 'normal', 'dark', 'backlit']);
  const crf = oneOf([23, 26, 30]);
  const others = chance(0.2)
    ? [
        {
          ...{ x: from(-2, 2), z: oneOf([-1.4, -1.8, 1.6]), yaw: from(-3, 3), model: oneOf(['male', 'female', 'heavy']) },
          ...(chance(0.4) ? { walk: true, speed: 0.5 } : {}),
        },
      ]
    : [];
  const [rad, nearer] = [(azimuth * Math.PI) / 180, distance - 0.95];
  const box = { pos: [nearer * Math.sin(rad), 0, nearer * Math.cos(rad)], yaw: rad + Math.PI / 2, kind: 'box', h: 0.6 };
  return {
    ...{ lift, seed, model, stature, form, plates, reps, lead, tail, tempo, light, crf, ...rack },
    ...{ width: wide ? 640 : 360, height: wide ? 360 : 640, fps: 8 },
    camera: { azimuth, height, distance, shake, aim, ...roll },
    ...(others.length > 0 && { extras: others }),
    ...(chance(0.08) && { foreground: [box] }),
  };
}
