import { describe, expect, it } from 'vitest';
import type { PoseEngine } from '../../workers/pose/engine.ts';
import { createTracker } from '../../workers/pose/track.ts';
import {
  chooseMain,
  defaultTrackOptions,
  followed,
  mergeDoubles,
  noTracks,
  samePose,
  sameRegion,
  takeDetections,
  takePose,
} from '../../workers/pose/tracks.ts';
import { type Detection, joint, type Pose, type Region, type RgbImage } from '../../workers/pose/types.ts';

/** An invented standing person, 100 px from head to feet, hips at x, y. */
function standing(x: number, y: number, presence = 1, dy = 0): Pose {
  const points = new Float32Array(33 * 5);
  for (let row = 0; row < 33; row++) points.set([x, y, 0, 1, 1], row * 5);
  const put = (row: number, ox: number, oy: number) => points.set([x + ox, y + oy], row * 5);
  put(joint.nose, 0, -45);
  for (const [row, ox, oy] of [
    [joint.shoulderL, 10, -30],
    [joint.elbowL, 12, -15],
    [joint.wristL, 12, dy],
    [joint.hipL, 6, 0],
    [joint.kneeL, 6, 25],
    [joint.ankleL, 6, 50],
  ] as const) {
    put(row, ox, oy);
    put(row + 1, -ox, oy);
  }
  return { presence, points, world: new Float32Array(99), next: region(x, y) };
}

const region = (cx: number, cy: number, sidePx = 150, angleRad = 0): Region => ({ cx, cy, sidePx, angleRad });

const seen = (x: number, y: number, score = 0.9): Detection => ({
  score,
  box: { x: x - 15, y: y - 60, widthPx: 30, heightPx: 30 },
  hip: { x, y },
  top: { x, y: y - 60 },
  region: region(x, y),
});

const options = defaultTrackOptions;

/** Tracks after the detector saw people at these places and their poses were taken in. */
function following(places: [number, number][], timeS = 0) {
  const tracks = noTracks();
  const detections = places.map(([x, y]) => seen(x, y));
  for (const { track } of takeDetections(tracks, detections, timeS, 4))
    takePose(tracks, track, standing(track.region.cx, track.region.cy), timeS, options);
  return tracks;
}

describe('same person', () => {
  it.each([
    ['the same place', region(0, 0), true],
    ['a seventh of the side away, just inside', region(21.3, 0), true],
    ['a seventh of the side away, just outside', region(21.5, 0), false],
    ['1.6 times as large, just below', region(0, 0, 239), true],
    ['1.6 times as large', region(0, 0, 240.1), false],
    ['lying at the same place', region(0, 0, 150, Math.PI / 2), false],
    ['turned past the half turn', region(0, 0, 150, 2 * Math.PI), true],
  ])('region: %s', (_, other, same) => {
    expect(sameRegion(region(0, 0), other)).toBe(same);
  });

  it.each([
    [11.9, true],
    [12.1, false],
  ])('pose: %d px apart in a region of 150 px', (apart, same) => {
    expect(samePose(standing(0, 0), standing(apart, 0), 150)).toBe(same);
  });
});

describe('taking in detections', () => {
  it('gives new people new ids and keeps known ones', () => {
    const tracks = following([[100, 100]]);
    takeDetections(tracks, [seen(104, 101), seen(300, 100)], 1, 4);
    expect(followed(tracks).map(({ id, region: { cx } }) => [id, cx])).toEqual([
      [1, 100],
      [2, 300],
    ]);
  });

  it('knows a bent person by the head when the detector guesses the hips elsewhere', () => {
    const tracks = following([[100, 100]]);
    const bent = { ...seen(100, 100), hip: { x: 130, y: 100 }, region: region(130, 100) };
    takeDetections(tracks, [bent], 1, 4);
    expect(tracks.all).toHaveLength(1);
  });

  it.each([
    ['twice as large: the track had shrunk', 300, [1]],
    ['0.59 of the size: somebody behind', 88, [1, 2]],
  ])('a person at the same head, %s', (_, sidePx, ids) => {
    const tracks = following([[100, 100]]);
    takeDetections(tracks, [{ ...seen(100, 100), region: region(100, 100, sidePx) }], 1, 4);
    expect(tracks.all.map((track) => track.id)).toEqual(ids);
  });

  it('follows no more than asked for', () => {
    const tracks = noTracks();
    takeDetections(tracks, [seen(100, 100), seen(300, 100), seen(500, 100)], 0, 2);
    expect(followed(tracks).map((track) => track.region.cx)).toEqual([100, 300]);
  });

  it('finds a lost person again in the same place under the same id, and a stranger elsewhere under a new one', () => {
    const tracks = following([[100, 100]]);
    takePose(tracks, tracks.all[0]!, standing(100, 100, 0.1), 0.71, options);
    expect(followed(tracks)).toEqual([]);
    const looks = takeDetections(tracks, [seen(130, 100), seen(400, 100)], 2, 4);
    expect(looks.map(({ track }) => track.id)).toEqual([1, 2]);
  });
});

describe('taking in poses', () => {
  it.each([
    [0.7, 'followed'],
    [0.71, 'lost'],
  ])('a person missed for %d s is %s', (passedS, state) => {
    const tracks = following([[100, 100]]);
    expect(takePose(tracks, tracks.all[0]!, standing(100, 100, 0.29), passedS, options)).toBe(false);
    expect(tracks.all[0]!.state).toBe(state);
  });

  it('forgets a detection that the landmark model does not confirm', () => {
    const tracks = noTracks();
    const [look] = takeDetections(tracks, [seen(100, 100)], 0, 4);
    takePose(tracks, look!.track, standing(100, 100, 0.29), 0, options);
    expect(tracks.all).toEqual([]);
  });

  it('goes after a person who moves far and halves small shifts', () => {
    const tracks = following([[100, 100]]);
    const track = tracks.all[0]!;
    takePose(tracks, track, standing(102, 100), 0.1, options);
    expect(track.region.cx).toBeCloseTo(101);
    takePose(tracks, track, standing(130, 100), 0.2, options);
    expect(track.region.cx).toBeCloseTo(130);
  });
});

describe('doubles and the main person', () => {
  it('merges two tracks that settled on one person and keeps the older id', () => {
    const tracks = following([
      [100, 100],
      [200, 100],
    ]);
    takePose(tracks, tracks.all[1]!, standing(103, 100), 0.1, options);
    mergeDoubles(tracks);
    expect(tracks.all.map((track) => track.id)).toEqual([1]);
  });

  it('keeps two people who stand side by side', () => {
    const tracks = following([
      [100, 100],
      [130, 100],
    ]);
    mergeDoubles(tracks);
    expect(tracks.all).toHaveLength(2);
  });

  it('takes the one whose hands go up and down for the main person', () => {
    const tracks = following([
      [100, 100],
      [300, 100],
    ]);
    chooseMain(tracks);
    expect(tracks.mainId).toBe(1);
    for (let frame = 1; frame <= 30; frame++) {
      takePose(tracks, tracks.all[0]!, standing(100, 100), frame / 15, options);
      takePose(tracks, tracks.all[1]!, standing(300, 100, 1, 40 * Math.sin(frame / 5)), frame / 15, options);
      chooseMain(tracks);
    }
    expect(tracks.mainId).toBe(2);
  });
});

describe('tracker', () => {
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
    for (let i = 0; i < 45; i++)
      for (const { id } of await tracker.push(frame, i / 15)) counts.set(id, (counts.get(id) ?? 0) + 1);
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
});
