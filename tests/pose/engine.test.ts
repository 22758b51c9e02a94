import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { cropRegion } from '../../workers/pose/crop.ts';
import { loadPose, type PoseEngine } from '../../workers/pose/engine.ts';
import { joint, type Point, type Pose, type PoseModel, pointWidth } from '../../workers/pose/types.ts';
import { quarterTurn, renderedPerson } from './picture.ts';

const rows: [string, number][] = [
  ['nose', joint.nose],
  ['shoulder_l', joint.shoulderL],
  ['shoulder_r', joint.shoulderR],
  ['elbow_l', joint.elbowL],
  ['elbow_r', joint.elbowR],
  ['wrist_l', joint.wristL],
  ['wrist_r', joint.wristR],
  ['hip_l', joint.hipL],
  ['hip_r', joint.hipR],
  ['knee_l', joint.kneeL],
  ['knee_r', joint.kneeR],
  ['ankle_l', joint.ankleL],
  ['ankle_r', joint.ankleR],
];

const at = (pose: Pose, row: number): Point => ({ x: pose.points[row * pointWidth]!, y: pose.points[row * pointWidth + 1]! });
const median = (values: number[]) => values.toSorted((a, b) => a - b)[values.length >> 1]!;
const apart = (a: Point, b: Point) => Math.hypot(a.x - b.x, a.y - b.y);

describe('pose engine', () => {
  let engine: PoseEngine;
  beforeAll(async () => {
    engine = await loadPose({ models: ['lite', 'heavy'] });
  });
  afterAll(() => engine.close());

  const { image, truth } = renderedPerson();
  const ankleY = (truth.joints.ankle_l!.y + truth.joints.ankle_r!.y) / 2;
  const heightPx = ankleY - truth.joints.nose!.y;

  it('finds one person, upright, with the hip where the rig put it', async () => {
    const found = await engine.detect(image, { threshold: 0.5 });
    expect(found).toHaveLength(1);
    const { joints } = truth;
    const hip = { x: (joints.hip_l!.x + joints.hip_r!.x) / 2, y: (joints.hip_l!.y + joints.hip_r!.y) / 2 };
    expect(apart(found[0]!.hip, hip)).toBeLessThan(0.1 * heightPx);
    expect(Math.abs(found[0]!.region.angleRad)).toBeLessThan(0.3);
  });

  it('finds nobody in an empty picture', async () => {
    const empty = { data: new Uint8Array(200 * 100 * 3).fill(90), widthPx: 200, heightPx: 100 };
    expect(await engine.detect(empty, { threshold: 0.5 })).toEqual([]);
  });

  it('finds the same person in an enlarged part of the picture', async () => {
    const region = { cx: 96, cy: 130, sidePx: 150, angleRad: 0 };
    const [whole] = await engine.detect(image, { threshold: 0.5 });
    const [part] = await engine.detect(image, { threshold: 0.5, region });
    expect(apart(whole!.hip, part!.hip)).toBeLessThan(0.1 * heightPx);
  });

  // Truth: joints projected by the rig's camera.
  it.each(['lite', 'heavy'] satisfies PoseModel[])('puts the %s landmarks on the projected joints', async (model) => {
    const [person] = await engine.detect(image, { threshold: 0.5 });
    const pose = await engine.landmarks(image, person!.region, model);
    const errors = rows.map(([name, row]) => apart(at(pose, row), truth.joints[name]!) / heightPx);
    console.log(
      `${model}: median error ${(100 * median(errors)).toFixed(1)} % of the height, worst ${(100 * Math.max(...errors)).toFixed(1)} %`,
    );
    expect(pose.presence).toBeGreaterThan(0.9);
    expect(median(errors)).toBeLessThan(0.05);
    expect(Math.max(...errors)).toBeLessThan(0.2);
  });

  it('reads the same pose from a picture turned by a quarter, in the turned axes', async () => {
    const [person] = await engine.detect(image, { threshold: 0.5 });
    const upright = await engine.landmarks(image, person!.region, 'heavy');
    const { cx, cy, sidePx, angleRad } = person!.region;
    const region = { cx: image.heightPx - cy, cy: cx, sidePx, angleRad: angleRad + Math.PI / 2 };
    const turned = await engine.landmarks(quarterTurn(image), region, 'heavy');
    for (const [name, row] of rows) {
      const a = at(upright, row);
      expect(apart(at(turned, row), { x: image.heightPx - a.y, y: a.x }), name).toBeLessThan(0.02 * heightPx);
      const [x, y, z] = upright.world.subarray(row * 3, row * 3 + 3) as unknown as [number, number, number];
      const [tx, ty, tz] = turned.world.subarray(row * 3, row * 3 + 3) as unknown as [number, number, number];
      expect(Math.hypot(tx + y, ty - x, tz - z), `${name} in metres`).toBeLessThan(0.02);
    }
  });

  it('reads the same pose from a crop that was kept', async () => {
    const [person] = await engine.detect(image, { threshold: 0.5 });
    const direct = await engine.landmarks(image, person!.region, 'lite');
    const kept = await engine.landmarksFromCrop(cropRegion(image, person!.region), person!.region, 'lite');
    expect(kept).toEqual(direct);
  });

  it('keeps to the same person with the region for the next frame', async () => {
    const [person] = await engine.detect(image, { threshold: 0.5 });
    const first = await engine.landmarks(image, person!.region, 'lite');
    const second = await engine.landmarks(image, first.next, 'lite');
    for (const [name, row] of rows) expect(apart(at(first, row), at(second, row)), name).toBeLessThan(0.1 * heightPx);
  });

  it('refuses a model that was not loaded', async () => {
    const other = await loadPose({ models: [] });
    await expect(other.landmarks(image, { cx: 1, cy: 1, sidePx: 9, angleRad: 0 }, 'lite')).rejects.toThrow('not loaded');
    await other.close();
  });
});
