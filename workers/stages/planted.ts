import { joint, pointWidth } from '../pose/types.ts';
import { type Course, middlePx, type Person, visibilityOf } from './course.ts';
import { even, median, smooth } from './series.ts';

/** The feet tell when one of them is seen this surely in this share of the poses; what they do in a shorter time than about this is misread. */
const need = { visibility: 0.5, share: 0.8 };
const [stepS, sigmaS] = [1 / 15, 0.3];

/** How far down each pose's feet are from where they usually are, pixels; null when they are not seen. */
function feetDownPx({ samples }: Person): number[] | null {
  const isSeen = ({ pose }: Person['samples'][number]) =>
    Math.max(visibilityOf(pose, joint.ankleL), visibilityOf(pose, joint.ankleR)) > need.visibility;
  if (samples.filter(isSeen).length <= need.share * samples.length) return null;
  const feet = samples.map(({ pose }) => middlePx(pose, joint.ankleL, joint.ankleR).y);
  const times = samples.map(({ timeS }) => timeS);
  const { startS, values } = smooth(even(times, feet, stepS), sigmaS);
  const usual = median(values);
  return times.map((timeS) => values[Math.min(values.length - 1, Math.round((timeS - startS) / stepS))]! - usual);
}

/**
 * The course as if everybody's feet stayed at one height of the picture. In every lift they stay on the floor: what they still move by, after the
 * background's movement was taken out of a shaking camera's picture, is the camera, which the lifter is nearer to than the background.
 */
export function planted(course: Course): Course {
  const people = course.people.map((person) => {
    const down = feetDownPx(person);
    if (down === null) return person;
    const samples = person.samples.map((sample, at) => {
      const points = sample.pose.points.slice();
      for (let y = 1; y < points.length; y += pointWidth) points[y] = points[y]! - down[at]!;
      return { ...sample, pose: { ...sample.pose, points } };
    });
    return { ...person, samples };
  });
  return { ...course, people };
}
