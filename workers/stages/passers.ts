import { joint } from '../pose/types.ts';
import { middlePx, type Person, pxPerMetre, type Sample } from './course.ts';
import { median } from './series.ts';
import type { Watch } from './watch.ts';

/**
 * Someone who walks by before the lifter is followed in their stead for a moment: so much larger than who was followed in the seconds around, elsewhere,
 * and gone again. Chosen: a fifth nearer than the lifter, half a metre away, no longer than crossing a picture takes at a walk (common practice:
 * 1.1 to 1.4 m/s); where they come and go the pose is of neither.
 */
const passer = { larger: 1.25, stays: 1.1, awayM: 0.5, mostS: 2.5, aroundS: 3, edgeS: 0.2 };

/**
 * Nobody is so much larger or smaller in the next look, and so far away from where they were, so many seconds later: two were followed. Chosen:
 * in the lifts of 292 clips, real and rendered, that follow one there is nothing beyond 1.41 times and 0.3 m at once.
 */
const swap = { size: 1.5, movedM: 0.4, withinS: 0.35 };

/** Whether it may be one person who is seen in all of some looks, which are in order of time. */
export function isOnePerson(samples: readonly Sample[]): boolean {
  const seen = samples.map(({ timeS, pose }) => ({
    timeS,
    scale: pxPerMetre(pose),
    hips: middlePx(pose, joint.hipL, joint.hipR),
  }));
  return seen.slice(1).every((now, i) => {
    const before = seen[i]!;
    const nearer = Math.max(now.scale, before.scale);
    const movedM = Math.hypot(now.hips.x - before.hips.x, now.hips.y - before.hips.y) / nearer;
    const resized = nearer / Math.min(now.scale, before.scale);
    return now.timeS - before.timeS > swap.withinS || resized < swap.size || movedM < swap.movedM;
  });
}

/** Times, from and to, at which a track follows a passer and not its person. */
function passedBy({ samples }: Person): { fromS: number; toS: number }[] {
  const seen = samples.map(({ timeS, pose }) => ({
    timeS,
    scale: pxPerMetre(pose),
    hips: middlePx(pose, joint.hipL, joint.hipR),
  }));
  let [first, past] = [0, 0];
  const usual = seen.map(({ timeS }) => {
    while (seen[first]!.timeS < timeS - passer.aroundS) first++;
    while (past < seen.length && seen[past]!.timeS <= timeS + passer.aroundS) past++;
    const around = seen.slice(first, past);
    return { scale: median(around.map((s) => s.scale)), x: median(around.map((s) => s.hips.x)) };
  });
  const spans: { fromS: number; toS: number }[] = [];
  const larger = (at: number) => seen[at]!.scale > passer.larger * usual[at]!.scale;
  for (let from = 0; from < seen.length; from++) {
    if (!larger(from)) continue;
    let to = from;
    while (to + 1 < seen.length && larger(to + 1)) to++;
    const span = seen.slice(from, to + 1);
    const away = span.some(({ hips }, i) => Math.abs(hips.x - usual[from + i]!.x) > passer.awayM * usual[from + i]!.scale);
    const [fromS, toS] = [span[0]!.timeS, span.at(-1)!.timeS];
    // who comes from the camera or goes to it is larger at an end of the clip, and who stays is as large before or after
    const size = median(span.map((s) => s.scale));
    const gone = [seen[from - 1], seen[to + 1]].every((s) => s !== undefined && s.scale < size / passer.stays);
    if (away && gone && toS - fromS <= passer.mostS) spans.push({ fromS: fromS - passer.edgeS, toS: toS + passer.edgeS });
    from = to;
  }
  return spans;
}

/** The same watch without the poses of passers, so that what they hide is a gap in the lifter's movement. */
export function withoutPassers(watch: Pick<Watch, 'course' | 'lookClosely'>): Pick<Watch, 'course' | 'lookClosely'> {
  const course = watch.course();
  const spans = new Map(course.people.map((person) => [person.id, passedBy(person)]));
  const without = (id: number, samples: Sample[]) =>
    samples.filter(({ timeS }) => !spans.get(id)?.some(({ fromS, toS }) => timeS >= fromS && timeS <= toS));
  const people = course.people.map((person) => ({ ...person, samples: without(person.id, person.samples) }));
  return {
    course: () => ({ ...course, people }),
    lookClosely: async (id, ...where) => without(id, await watch.lookClosely(id, ...where)),
  };
}
