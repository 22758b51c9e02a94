import { lifterOf } from '../../workers/stages/lifter.ts';
import { movementOf } from '../../workers/stages/movement.ts';
import { courseOf, lying } from './stick-figure.ts';

const stand = { azimuthDeg: 45, heightM: 1.5, distanceM: 3 };

/** A movement of hands over a bench and of a bar, 12.5 s, with the poses of each. */
export function pressing(hands: (t: number) => number, bar: (t: number) => number) {
  const course = courseOf((t) => lying(hands(t)), 12.5, stand);
  const [person] = course.people;
  const { pxPerM } = movementOf(person!);
  // the bar goes down 0.35 m and up again
  const flow = person!.samples.slice(1).map(({ timeS: toS }, i) => {
    const fromS = person!.samples[i]!.timeS;
    return { personId: person!.id, fromS, toS, upPx: 0.35 * pxPerM * (bar(fromS) - bar(toS)) };
  });
  return { light: lifterOf(course, flow)!, poses: person!.samples };
}
