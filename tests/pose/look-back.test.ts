import { expect, it } from 'vitest';
import type { PoseEngine } from '../../workers/pose/engine.ts';
import { betterLooks, lookBack } from '../../workers/pose/look-back.ts';
import { type Pose, pointWidth, type Region } from '../../workers/pose/types.ts';
import { createWatch } from '../../workers/stages/watch.ts';

const place = (cx: number, sidePx: number): Region => ({ cx, cy: 180, sidePx, angleRad: 0 });

/** All joints at x, seen with a visibility. */
function poseAt(x: number, visibility: number, next = place(x, 150), presence = 1): Pose {
  const points = new Float32Array(33 * pointWidth);
  for (let row = 0; row < 33; row++) points.set([x, 180, 0, visibility, 1], row * pointWidth);
  return { presence, points, world: new Float32Array(99), next };
}

const frameAt = (timeS: number, index = 0) => ({
  data: Buffer.alloc(640 * 360 * 3),
  widthPx: 640,
  heightPx: 360,
  timeS,
  index,
});
const frames = [0, 1, 2, 3].map((timeS) => frameAt(timeS));

/** An engine that sees what `pose` says in the region asked for, nobody in the picture's parts. */
const engineOf = (pose: (region: Region) => Pose): PoseEngine => ({
  detect: async () => [],
  landmarks: async (_, region) => pose(region),
  landmarksFromCrop: async (_, region) => pose(region),
  close: async () => {},
});

it('follows back from region to region until nobody is there', async () => {
  // walks 20 px a picture, and came into the picture at 240 px
  const engine = engineOf((region) => poseAt(region.cx, 1, place(region.cx - 20, 150), region.cx > 240 ? 1 : 0.2));
  const looks = await lookBack(engine, frames, place(280, 150));
  expect(looks.map(({ frame, region }) => [frame.timeS, region.cx])).toEqual([
    [3, 280],
    [2, 260],
  ]);
});

it.each([
  ['from where they differ, when that is clearer', 0.9, [1, 0]],
  ['nothing where it is not clearer', 0.6, []],
])('takes the looks back %s', (_, visibility, timesS) => {
  const looks = [3, 2, 1, 0].map((timeS) => ({
    frame: frames[timeS]!,
    region: place(300, 150),
    pose: poseAt(300, timeS < 2 ? visibility : 1),
  }));
  // at first a part of the body was followed, elsewhere
  const better = betterLooks(looks, (timeS) => poseAt(timeS < 2 ? 340 : 300, timeS < 2 ? 0.6 : 1));
  expect(better.map(({ frame }) => frame.timeS)).toEqual(timesS);
});

it('takes all looks of before the person was found', () => {
  const looks = [3, 2, 1, 0].map((timeS) => ({ frame: frames[timeS]!, region: place(300, 150), pose: poseAt(300, 0.7) }));
  const foundAt = (...timesS: number[]) => betterLooks(looks, (timeS) => (timesS.includes(timeS) ? poseAt(301, 0.7) : undefined));
  expect(foundAt(2, 3).map(({ frame }) => frame.timeS)).toEqual([1, 0]);
  // who was no main person at first was looked at in every third picture only
  expect(foundAt(1, 3).map(({ frame }) => frame.timeS)).toEqual([0]);
});

it('is what a watch does with the main person: found late, they are known from the start', async () => {
  let timeS = 0;
  const engine = engineOf(() => poseAt(300, 0.9));
  const detect: PoseEngine['detect'] = async () =>
    timeS < 1
      ? []
      : [
          {
            score: 1,
            box: { x: 285, y: 100, widthPx: 30, heightPx: 30 },
            hip: { x: 300, y: 180 },
            top: { x: 300, y: 120 },
            region: place(300, 150),
          },
        ];
  const watch = createWatch({ ...engine, detect });
  for (let i = 0; i < 60; i++) {
    timeS = i / 15;
    await watch.push(frameAt(timeS, i));
  }
  const [person, ...others] = watch.course().people;
  expect(others).toEqual([]);
  expect(person!.samples.map((s) => s.timeS)).toEqual(watch.course().timesS);
  const looks = await watch.lookClosely(person!.id, 0, 4, 1000);
  expect(looks[0]!.timeS).toBe(0);
  expect(looks.map((s) => s.timeS)).toEqual(looks.map((s) => s.timeS).toSorted((a, b) => a - b));
});

it('is done again when the person turns out to be larger than what was followed', async () => {
  let timeS = 0;
  // a part of the body is followed from 0 s to 4 s, the whole, twice as large and clearer, from then on; looking back shows the whole at any time
  const detected = {
    score: 1,
    box: { x: 285, y: 100, widthPx: 30, heightPx: 30 },
    hip: { x: 300, y: 180 },
    top: { x: 300, y: 120 },
  };
  const isWhole = (region: Region) => timeS >= 4 || region.sidePx > 200;
  const engine = engineOf((region) => (isWhole(region) ? poseAt(300, 0.9, place(300, 300)) : poseAt(340, 0.6, place(340, 150))));
  const watch = createWatch({ ...engine, detect: async () => [{ ...detected, region: place(340, 150) }] });
  for (let i = 0; i < 120; i++) {
    timeS = i / 15;
    await watch.push(frameAt(timeS, i));
  }
  const { samples } = watch.course().people[0]!;
  const wholeS = samples.filter(({ pose }) => pose.points[0] === 300).map((s) => s.timeS);
  expect(samples).toHaveLength(120);
  expect(wholeS[0]).toBeGreaterThan(0.5);
  expect(wholeS[0]).toBeLessThan(2.5);
});
