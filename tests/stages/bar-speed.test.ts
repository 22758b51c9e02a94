import { describe, expect, it } from 'vitest';
import { known, unknown } from '../../src/facts/fact.ts';
import type { Facts } from '../../src/facts/facts.ts';
import { joint, pointWidth } from '../../workers/pose/types.ts';
import { createBarFlow, type FlowStep, stilledFlow } from '../../workers/stages/bar-flow.ts';
import { type BarSeen, barSpeedOf, speedAllowed } from '../../workers/stages/bar-speed.ts';
import { wayUpOf } from '../../workers/stages/way-up.ts';
import { exampleFacts } from '../facts-example.ts';
import { createTexture } from './scene.ts';
import { courseOf, squatting } from './stick-figure.ts';

const smooth = (u: number) => (u <= 0 ? 0 : u >= 1 ? 1 : u * u * (3 - 2 * u));
const stand = { azimuthDeg: 135, heightM: 1.2, distanceM: 3 };

/** Squats that go down for 1.2 s from `startS` on, then come up in `upS`. */
const squats = (startsS: number[], upS: number) => (timeS: number) => {
  const startS = startsS.findLast((s) => timeS >= s);
  return startS === undefined ? 0 : Math.min(smooth((timeS - startS) / 1.2), 1 - smooth((timeS - startS - 1.2) / upS));
};

/** What a stage would see of stick-figure squats that come up in `upS`. */
function seen(upS: number, change: Partial<BarSeen> = {}): BarSeen {
  const startsS = [1, 1 + 1.2 + upS + 1.5];
  const depth = squats(startsS, upS);
  const course = courseOf((t) => squatting(depth(t)), startsS[1]! + 1.2 + upS + 1.5, stand);
  const { samples } = course.people[0]!;
  return {
    lift: 'squat',
    reps: startsS.map((startS) => ({ startS, turnS: startS + 1.2, endS: startS + 1.2 + upS })),
    light: samples,
    close: samples.filter((_, i) => i % 3 === 0),
    flow: [],
    view: known({ azimuthDeg: 135, class: 'rear-quarter', side: 'left' }),
    camera: { elevationDeg: known(5), heightClass: unknown('not-measured'), distanceM: known(3) },
    frame: course,
    ...change,
  };
}

/** Height of the stick figure's shoulders, metres. */
const shoulderM = (depth: number) => squatting(depth)[joint.shoulderL]![1];
/** A squat's shoulders rise this much more than the bar on the back (as fitted in the stage). */
const shouldersOverBar = 1.1;

describe('bar speed, against a stick figure seen by three.js', () => {
  it.each([0.6, 1, 2, 3.5])('finds the speed of a squat that comes up in %d s', (upS) => {
    const fact = barSpeedOf(seen(upS));
    if (!fact.known) throw new Error(fact.reason);
    expect(fact.value.reps.map(({ rep }) => rep)).toEqual([1, 2]);
    expect(fact.value.scale).toMatchObject({ basis: 'stature', statureM: 1.73 });
    // a way that goes as u * u * (3 - 2 u) is faster than a tenth of its peak for 0.949 of its time, in which it rises 0.996 of its height
    const meanMps = ((shoulderM(0) - shoulderM(1)) * 0.996) / (0.949 * upS) / shouldersOverBar;
    for (const rep of fact.value.reps) {
      const share = Math.hypot(rep.spreadShare, fact.value.scale.spreadShare);
      expect(Math.abs(rep.meanMps / meanMps - 1)).toBeLessThan(share);
      expect(rep.peakMps / rep.meanMps).toBeGreaterThan(1.35);
      expect(rep.peakMps / rep.meanMps).toBeLessThan(1.75);
      expect(Math.abs(rep.toS - rep.fromS - 0.949 * upS)).toBeLessThan(0.07 + 0.02 * upS);
    }
  });

  it('leaves out a way up that had begun when the lifter was first seen', () => {
    const whole = seen(1);
    const repsFrom = (fromS: number) => {
      const fact = barSpeedOf({ ...whole, light: whole.light.filter(({ timeS }) => timeS >= fromS) });
      return fact.known ? fact.value.reps.map(({ rep }) => rep) : [];
    };
    const { turnS } = whole.reps[0]!;
    expect([repsFrom(turnS - 0.2), repsFrom(turnS + 0.1), repsFrom(Number.POSITIVE_INFINITY)]).toEqual([[1, 2], [2], []]);
  });

  it('takes a stature of 1.73 m, so that pixels tell no metres', () => {
    const fact = barSpeedOf(seen(1));
    if (!fact.known) throw new Error(fact.reason);
    // the figure stands 3 m away in a picture of 512 px with 69.4 degrees: 512 / 2 / tan(34.7 degrees) px at 1 m
    const focalPx = 256 / Math.tan((34.7 * Math.PI) / 180);
    expect(Math.abs(fact.value.scale.staturePx / ((1.73 * focalPx) / 3) - 1)).toBeLessThan(0.08);
  });
});

/** Flow steps of a bar that moves as `heightPx` says. */
const flowOf = (timesS: readonly number[], heightPx: (timeS: number) => number): FlowStep[] =>
  timesS.slice(1).map((toS, i) => ({ personId: 1, fromS: timesS[i]!, toS, upPx: heightPx(toS) - heightPx(timesS[i]!) }));

describe('pose and flow together', () => {
  const without = seen(1);
  const timesS = without.light.map((s) => s.timeS);
  const shouldersPx = (timeS: number) => {
    const at = without.light.reduce((a, b) => (Math.abs(b.timeS - timeS) < Math.abs(a.timeS - timeS) ? b : a));
    return -(at.pose.points[joint.shoulderL * pointWidth + 1]! + at.pose.points[joint.shoulderR * pointWidth + 1]!) / 2;
  };
  const speedWith = (flow: FlowStep[]) => barSpeedOf({ ...without, flow });

  it('are surer where they agree', () => {
    const [one, both] = [barSpeedOf(without), speedWith(flowOf(timesS, (t) => 1.08 * shouldersPx(t)))];
    if (!one.known || !both.known) throw new Error('both are known');
    expect(both.value.reps[0]!.spreadShare).toBeLessThan(0.7 * one.value.reps[0]!.spreadShare);
  });

  it('cannot tell where one sees twice what the other sees, or the flow stands still', () => {
    expect(speedWith(flowOf(timesS, (t) => 2 * shouldersPx(t)))).toEqual({ known: false, reason: 'hidden' });
    expect(speedWith(flowOf(timesS, () => 0))).toMatchObject({ known: true });
  });

  it('takes the movement of the camera off the flow', () => {
    const drift = (timeS: number) => 40 * Math.sin(timeS);
    const flow = flowOf(timesS, (t) => 1.08 * shouldersPx(t) - drift(t));
    const path = timesS.map((timeS) => ({ timeS, dxShare: 0, dyShare: drift(timeS) / without.frame.widthPx }));
    const [moving, still] = [
      speedWith(stilledFlow(flow, path, without.frame.widthPx)),
      speedWith(flowOf(timesS, (t) => 1.08 * shouldersPx(t))),
    ];
    if (!moving.known || !still.known) throw new Error('both are known');
    expect(moving.value.reps[0]!.meanMps).toBeCloseTo(still.value.reps[0]!.meanMps, 2);
  });
});

describe('where bar speed cannot be told', () => {
  it.each([
    ['no-lift', { lift: 'other' }],
    ['no-lift', { reps: [] }],
    ['too-few-frames', { light: [], close: [] }],
    ['hidden', { view: known({ azimuthDeg: 90, class: 'side', side: 'left' }) }],
    ['hidden', { reps: [{ startS: 60, turnS: 61, endS: 62 }] }],
    ['hidden', { frame: { widthPx: 288, heightPx: 200 } }],
  ] as const)('in the pictures: %s', (reason, change) => {
    expect(barSpeedOf(seen(1, change as Partial<BarSeen>))).toEqual({ known: false, reason });
  });

  const measured = barSpeedOf(seen(1));
  const facts = (change: Partial<Facts>) => exampleFacts('squat', { barSpeed: measured, ...change });
  const clip = (change: object) => {
    const { clip: made } = exampleFacts('squat');
    return made.known ? { clip: known({ ...made.value, ...change }) } : {};
  };

  it.each([
    ['slow-motion', clip({ slowMotion: true })],
    ['too-few-frames', clip({ fps: 11.9 })],
    ['camera-moves', { steadiness: known({ class: 'moving', rmsPerS: 0.3 }) }],
    ['cut-inside', { cuts: known([2]) }],
  ] as const)('in the clip: %s', (reason, change) => {
    expect(speedAllowed(facts(change as Partial<Facts>))).toEqual({ known: false, reason });
  });

  it.each([clip({ fps: 12 }), { cuts: known([0.5, 6.6]) }, { steadiness: known({ class: 'propped-or-held', rmsPerS: 0.05 }) }])(
    'but in these it can: %j',
    (change) => expect(speedAllowed(facts(change as Partial<Facts>))).toEqual(measured),
  );
});

describe('way up', () => {
  const signal = (height: (timeS: number) => number) => ({
    startS: 0,
    stepS: 1 / 30,
    values: Array.from({ length: 121 }, (_, i) => height(i / 30)),
  });

  it('is not ended by a sticking point', () => {
    // half way up in 1 s, a halt of 0.5 s, the rest in 1 s
    const height = (t: number) => 0.25 * smooth(t - 0.5) + 0.25 * smooth(t - 2);
    const way = wayUpOf(signal(height), 0.2, 3.5)!;
    expect(way.rise).toBeCloseTo(0.5, 2);
    expect(way.fromS).toBeCloseTo(0.5, 1);
    expect(way.toS).toBeCloseTo(3, 1);
    expect(way.peakPerS).toBeCloseTo(0.25 * 1.5, 2);
  });

  it('leaves out the stand before and after, and the way down', () => {
    const height = (t: number) => 1 - smooth(t - 0.2) + smooth((t - 2) / 0.8);
    const way = wayUpOf(signal(height), 1.6, 3.8)!;
    expect(way.fromS).toBeCloseTo(2.02, 1);
    expect(way.toS).toBeCloseTo(2.78, 1);
    expect(way.rise).toBeCloseTo(1, 1);
  });

  it('is none where nothing rises', () => {
    expect(
      wayUpOf(
        signal(() => 1),
        0,
        4,
      ),
    ).toBeNull();
    expect(
      wayUpOf(
        signal((t) => -t),
        0,
        4,
      ),
    ).toBeNull();
  });
});

describe('flow around the hands', () => {
  const [widthPx, heightPx] = [144, 256];
  const [still, moving] = [createTexture(3), createTexture(8)];

  /** A textured bar 16 px high that stands `upPx` higher than at first, before a textured wall. */
  const picture = (timeS: number, upPx: number) => {
    const data = new Uint8Array(widthPx * heightPx);
    for (let y = 0; y < heightPx; y++) {
      for (let x = 0; x < widthPx; x++) {
        const onBar = x > 30 && x < 114 && y + upPx >= 108 && y + upPx < 140;
        data[y * widthPx + x] = Math.round(onBar ? moving(3 * x, 3 * (y + upPx)) : still(3 * x, 3 * y));
      }
    }
    return { data, widthPx, heightPx, shrink: 2, timeS };
  };
  const { pose } = courseOf(() => squatting(0), 0.1, { azimuthDeg: 180, heightM: 1, distanceM: 3 }).people[0]!.samples[0]!;
  /** The figure with its wrists on the bar, pixels of the large picture. */
  const holding = (upPx: number) => {
    const points = pose.points.slice();
    for (const [row, x] of [
      [joint.wristL, 110],
      [joint.wristR, 178],
    ] as const)
      points.set([x, 2 * (124 - upPx)], row * pointWidth);
    return { ...pose, points };
  };

  it.each([0.4, 1, 2.6, 5, -3.3])('finds a bar that goes up by %d px a frame', (stepPx) => {
    const flow = createBarFlow();
    for (let i = 0; i < 8; i++) flow.push(picture(i / 15, i * stepPx), { id: 7, pose: holding(i * stepPx) });
    const path = flow.path();
    expect(path).toHaveLength(7);
    expect(path.every(({ personId, toS, fromS }) => personId === 7 && Math.abs(toS - fromS - 1 / 15) < 1e-9)).toBe(true);
    // pixels of the large picture: twice those of the small one
    const sumPx = path.reduce((sum, { upPx }) => sum + upPx, 0);
    expect(Math.abs(sumPx / 2 - 7 * stepPx)).toBeLessThan(0.06 * Math.abs(7 * stepPx) + 0.7);
  });

  it('stands still with the bar, and tells nothing of what has no edges', () => {
    const flow = createBarFlow();
    for (let i = 0; i < 4; i++) flow.push(picture(i / 15, 0), { id: 7, pose: holding(0) });
    expect(flow.path().map(({ upPx }) => upPx)).toEqual([0, 0, 0]);
    const bare = createBarFlow();
    const blank = { data: new Uint8Array(widthPx * heightPx).fill(90), widthPx, heightPx, shrink: 2 };
    for (let i = 0; i < 4; i++) bare.push({ ...blank, timeS: i / 15 }, { id: 7, pose: holding(0) });
    expect(bare.path()).toEqual([]);
  });

  it('keeps nothing while nobody is followed', () => {
    const flow = createBarFlow();
    for (let i = 0; i < 4; i++) flow.push(picture(i / 15, i), undefined);
    expect(flow.path()).toEqual([]);
  });
});
