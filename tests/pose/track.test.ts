import { expect, it } from 'vitest';
import type { PoseEngine } from '../../workers/pose/engine.ts';
import { createTracker } from '../../workers/pose/track.ts';
import type { Pose, Region, RgbImage } from '../../workers/pose/types.ts';
import { region, seen, standing } from './standing.ts';

const frame: RgbImage = { data: new Uint8Array(640 * 360 * 3), widthPx: 640, heightPx: 360 };

/** An engine whose people stand where `people` says at each call; it counts its calls. */
function invented(people: () => { x: number; y: number }[]) {
  const calls = { detect: [] as { threshold: number; region?: Region }[], landmarks: 0 };
  const engine: PoseEngine = {
    detect: async (_, asked) => {
      calls.detect.push(asked);
      return people().map(({ x, y }) => seen(x, y));
    },
    landmarks: async (_, at) => {
      calls.landmarks++;
      const near = people().find(({ x, y }) => Math.hypot(x - at.cx, y - at.cy) < 60);
      return near ? standing(near.x, near.y) : standing(at.cx, at.cy, 0.05);
    },
    landmarksFromCrop: () => Promise.reject(new Error('not used here')),
    close: async () => {},
  };
  return { engine, calls };
}

it('detects once a second and looks at the others in every third frame', async () => {
  const { engine, calls } = invented(() => [
    { x: 100, y: 200 },
    { x: 400, y: 200 },
  ]);
  const tracker = createTracker(engine);
  const counts = new Map<number, number>();
  for (let i = 0; i < 45; i++) for (const { id } of await tracker.push(frame, i / 15)) counts.set(id, (counts.get(id) ?? 0) + 1);
  expect(calls.detect).toHaveLength(3);
  expect(counts.get(1)).toBe(45);
  expect(counts.get(2)).toBeGreaterThanOrEqual(15);
  expect(counts.get(2)).toBeLessThanOrEqual(18);
});

it('looks for somebody small, whom the detector does not see in the whole picture, close to where they are', async () => {
  const { engine, calls } = invented(() => [{ x: 100, y: 200 }]);
  const detect: PoseEngine['detect'] = async (picture, asked) => {
    const found = await engine.detect(picture, asked);
    return asked.region === undefined && calls.detect.length > 1 ? [] : found;
  };
  const tracker = createTracker({ ...engine, detect });
  for (let i = 0; i <= 30; i++) expect(await tracker.push(frame, i / 15)).toHaveLength(1);
  const closeUps = calls.detect.flatMap(({ region: at, threshold }) => (at ? [[at.cx, at.cy, at.sidePx, threshold]] : []));
  // at 1 and 2 s, in a square of twice the region's 150 px
  expect(closeUps).toEqual([
    [100, 200, 300, 0.5],
    [100, 200, 300, 0.5],
  ]);
});

it('looks in their place for somebody who was lost, where the detector sees another one only in the whole picture', async () => {
  const other = { x: 450, y: 200 };
  let now = 0;
  const { engine, calls } = invented(() => (now > 2 && now < 4 ? [other] : [{ x: 100, y: 200 }, other]));
  const detect: PoseEngine['detect'] = async (picture, asked) => {
    const found = await engine.detect(picture, asked);
    return asked.region === undefined && now > 4 ? found.filter(({ hip }) => hip.x === other.x) : found;
  };
  const tracker = createTracker({ ...engine, detect });
  const seenS: number[] = [];
  for (let i = 0; i < 90; i++) {
    now = i / 15;
    const found = await tracker.push(frame, now);
    if (found.some(({ id, region: { cx } }) => id === 1 && cx === 100)) seenS.push(now);
  }
  expect(calls.detect.some(({ region: at }) => at?.sidePx === 1.3 * 150)).toBe(true);
  expect(seenS.some((timeS) => timeS > 2 && timeS < 4)).toBe(false);
  expect(seenS.at(-1)).toBeGreaterThan(5.5);
});

it('gives somebody back the place that they never left, where one who passed was followed away from it', async () => {
  let now = 0;
  // the lifter is hidden by one who passes, and seen again behind them
  const passer = () => ({ x: 110 + Math.max(0, now - 2) * 90, y: 200 });
  const lifter = { x: 100, y: 200 };
  const { engine } = invented(() => (now < 2 ? [lifter] : now < 2.6 ? [passer()] : [passer(), lifter]));
  const tracker = createTracker(engine);
  const all: { timeS: number; id: number; cx: number; strayedS?: number | undefined }[] = [];
  for (let i = 0; i < 75; i++) {
    now = i / 15;
    for (const { id, pose, strayedS } of await tracker.push(frame, now)) all.push({ timeS: now, id, cx: pose.next.cx, strayedS });
  }
  const back = all.filter(({ strayedS }) => strayedS !== undefined);
  expect(back).toEqual([{ timeS: expect.any(Number), id: 1, cx: 100, strayedS: expect.any(Number) }]);
  const [{ timeS, strayedS }] = back as [(typeof back)[0]];
  expect(timeS).toBeLessThan(3.5);
  expect(strayedS).toBeGreaterThan(2);
  expect(strayedS).toBeLessThan(timeS);
  expect(new Set(all.filter((one) => one.timeS > timeS && one.id === 1).map(({ cx }) => cx))).toEqual(new Set([100]));
  expect(all.some((one) => one.timeS > timeS && one.id !== 1 && one.cx > 200)).toBe(true);
});

/** A body turned to an angle in the picture, as it is seen: `visible` 0..1. */
const turned = (angleRad: number, visible: number): Pose => {
  const pose = standing(100, 200);
  for (let row = 0; row < 33; row++) pose.points[row * 5 + 3] = visible;
  return { ...pose, next: region(100, 200, 150, angleRad) };
};

it.each([
  ['turns somebody back whom plates turned over for a moment', -1.7, 0.6, 0.7, 0],
  ['leaves turned who is seen less clearly upright', -1.7, 0.6, 0.6, -1.7],
  ['turns somebody back who was found upside down', Math.PI, 0.8, 0.7, 0],
  ['leaves upside down who lies with the head towards the camera', Math.PI, 0.8, 0.5, Math.PI],
])('%s', async (_, angleRad, visible, visibleUpright, endsRad) => {
  const { engine } = invented(() => []);
  let now = 0;
  const fromS = angleRad === Math.PI ? 0 : 2;
  const lookedAt: number[] = [];
  const tracker = createTracker({
    ...engine,
    detect: async () => [{ ...seen(100, 200), region: region(100, 200, 150, now < 0.5 && fromS === 0 ? angleRad : 0) }],
    // it keeps to what a region makes it expect
    landmarks: async (__, at) => {
      lookedAt.push(at.angleRad);
      if (now < fromS) return turned(0, 0.9);
      return now < fromS + 0.2 || Math.abs(at.angleRad) > 0.4 ? turned(angleRad, visible) : turned(0, visibleUpright);
    },
  });
  let last: Pose | undefined;
  for (let i = 0; i < 75; i++) {
    now = i / 15;
    [last] = (await tracker.push(frame, now)).map(({ pose }) => pose);
  }
  expect(last!.next.angleRad).toBe(endsRad);
  // who is upright again is not looked at tilted any more
  if (endsRad === 0) expect(lookedAt.slice(-30).filter((angle) => Math.abs(angle) > 0.1)).toEqual([]);
});

it('keeps the id of a person who was hidden for two seconds', async () => {
  let now = 0;
  const { engine } = invented(() => (now > 1 && now < 3 ? [] : [{ x: 100, y: 200 }]));
  const tracker = createTracker(engine);
  const ids = new Set<number>();
  let lastS = 0;
  for (let i = 0; i < 75; i++) {
    now = i / 15;
    for (const { id } of await tracker.push(frame, now)) {
      ids.add(id);
      lastS = now;
    }
  }
  expect([...ids]).toEqual([1]);
  expect(lastS).toBeCloseTo(74 / 15);
});

it('searches harder when nobody is found: lower threshold, then parts of the picture', async () => {
  const { engine, calls } = invented(() => []);
  const tracker = createTracker(engine);
  expect(await tracker.push(frame, 0)).toEqual([]);
  expect(calls.detect[0]!.threshold).toBe(0.5);
  expect(calls.detect[1]).toEqual({ threshold: 0.15 });
  expect(calls.detect.slice(2).map((call) => call.region!.cx)).toEqual([320, 160, 480]);
});
