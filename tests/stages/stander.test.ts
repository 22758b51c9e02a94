import { describe, expect, it } from 'vitest';
import { joint, type Pose } from '../../workers/pose/types.ts';
import { pxPerMetre } from '../../workers/stages/course.ts';
import { isStanding } from '../../workers/stages/stander.ts';
import { poseOf, squatting } from './stick-figure.ts';

const size = [288, 512] as const;
const longFovDeg = 69.4;
const stand = { azimuthDeg: 20, heightM: 1.5, distanceM: 2.6 };
const depthAt = (i: number) => (i % 6) / 5;

describe('one found lying', () => {
  const seconds = Array.from({ length: 30 }, (_, i) => i / 15);
  const always = (_: number) => true;
  const person = (pose: (i: number) => Pose, isThere = always) => ({
    id: 1,
    samples: seconds.flatMap((timeS, i) => (isThere(i) ? [{ timeS, pose: pose(i) }] : [])),
  });
  const stands = (i: number) => poseOf(squatting(0.1 * depthAt(i)), stand, size, longFovDeg);
  /** The same joints in the picture, read as of one who lies: the trunk along the floor. */
  const turned = (i: number) => {
    const pose = stands(i);
    for (const row of [joint.shoulderL, joint.shoulderR]) pose.world.set([0.3, -0.05, 0.4], row * 3);
    return pose;
  };
  const moved = (pose: Pose, rows: number[], byPx: number) => {
    for (const row of rows) pose.points[row * 5]! += byPx;
    return pose;
  };
  const course = (pose: (i: number) => Pose, isThere = always) => ({
    widthPx: size[0],
    heightPx: size[1],
    timesS: seconds,
    people: [person(pose, isThere)],
  });
  const hidden = (i: number) => {
    const pose = stands(i);
    for (const row of [joint.ankleL, joint.ankleR]) pose.points[row * 5 + 3] = 0.7;
    return pose;
  };
  const hands = [joint.wristL, joint.wristR];
  const trunk = [joint.shoulderL, joint.shoulderR, joint.hipL, joint.hipR];

  it('stands when someone whose feet are in plain view has hands and trunk in the same place', () => {
    expect(isStanding(person(turned), course(stands), null)).toBe(true);
  });

  it('stands when they were followed all the time but looked at in every third frame', () => {
    expect(
      isStanding(
        person(turned),
        course(stands, (i) => i % 3 === 0),
        null,
      ),
    ).toBe(true);
  });

  it.each([
    ['the feet of who stands there are hidden, as behind a bench', turned, course(hidden)],
    ['their hands are elsewhere', (i: number) => moved(turned(i), hands, 60), course(stands)],
    [
      'their trunk is elsewhere, as that of a spotter beside the bench',
      (i: number) => moved(turned(i), trunk, 90),
      course(stands),
    ],
    ['they were there for a third of the time', turned, course(stands, (i) => i < 10)],
    ['they lie themselves', turned, course(turned)],
    ['nobody else was seen', turned, { ...course(stands), people: [] }],
  ])('lies when %s', (_, pose, seen) => {
    expect(isStanding(person(pose), seen, null)).toBe(false);
  });

  it('stands when a standing lift was read from whose hands are in the same place, wherever the trunk was made up; not from other hands', () => {
    const madeUp = person((i) => moved(turned(i), trunk, 90));
    expect(isStanding(madeUp, course(stands), 'squat')).toBe(true);
    // 0.34 m apart, more than what makes a spotter somebody else, and 0.43 m
    const other = (byM: number) => person((i) => moved(turned(i), hands, byM * pxPerMetre(stands(i))));
    expect([0.34, 0.43].map((byM) => isStanding(other(byM), course(stands), 'squat'))).toEqual([true, false]);
    expect(isStanding(other(0.34), course(stands), null)).toBe(false);
  });

  it('stands when another lift was read whose trunk or hands are in the same place', () => {
    const found = (rows: number[]) => person((i) => moved(turned(i), rows, 90));
    const standing = [hands, trunk, [...hands, ...trunk]].map((rows) => isStanding(found(rows), course(stands), 'other'));
    expect(standing).toEqual([true, true, false]);
    expect(isStanding(found(hands), course(stands), 'squat')).toBe(false);
  });
});
