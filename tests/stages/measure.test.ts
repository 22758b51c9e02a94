import { expect, it } from 'vitest';
import { unknown } from '../../src/facts/fact.ts';
import { type Around, measurePeople } from '../../workers/stages/measure.ts';
import type { Watch } from '../../workers/stages/watch.ts';
import { courseOf, squatting } from './stick-figure.ts';

const stand = { azimuthDeg: 130, heightM: 1.5, distanceM: 3 };
const depth = (timeS: number) => (timeS < 1 || timeS > 6.6 ? 0 : (1 - Math.cos(((timeS - 1) / 2.8) * 2 * Math.PI)) / 2);
const standing = courseOf(() => squatting(0), 8, stand);
const squats = courseOf((timeS) => squatting(depth(timeS)), 8, stand);

const around: Around = { path: [], flow: [], pitchIn: () => unknown('ambiguous') };

/** A watch whose light model saw one course and whose heavy model sees another. */
const watchOf = (light: typeof standing, heavy: typeof standing): Pick<Watch, 'course' | 'lookClosely'> => ({
  course: () => light,
  lookClosely: async (_, fromS, toS, most) => {
    const there = heavy.people[0]!.samples.filter(({ timeS }) => timeS >= fromS && timeS <= toS);
    return there.filter((_, at) => at % Math.ceil(there.length / most) === 0);
  },
});

it('lets the heavy model read the whole clip where the light one reads no lift', async () => {
  const facts = await measurePeople(watchOf(standing, squats), unknown('not-measured'), around);
  expect(facts.lift).toMatchObject({ known: true, value: 'squat' });
  expect(facts.reps.known && facts.reps.value).toHaveLength(2);
});

it('says that there is no lift where neither model reads one', async () => {
  const facts = await measurePeople(watchOf(standing, standing), unknown('not-measured'), around);
  expect([facts.lift.known, facts.reps]).toEqual([false, { known: false, reason: 'no-lift' }]);
});
