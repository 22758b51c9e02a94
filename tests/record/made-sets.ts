import { known } from '../../src/facts/fact.ts';
import type { Facts } from '../../src/facts/facts.ts';
import { type SetRecord, setRecordOf } from '../../src/record/set-record.ts';
import { exampleFacts } from '../facts-example.ts';

/** A made set: mean speed of each rep in m/s (null: not measured), height of its way up, and what else should differ. */
export interface MadeSet {
  meansMps: readonly (number | null)[];
  wayM?: number;
  lift?: 'squat' | 'press' | 'deadlift' | 'bench';
  loadKg?: number | null;
  statureM?: number | null;
  scaleShare?: number;
  repShare?: number;
}

/** Facts of a made set as a worker would report them. */
export function factsOfSet({ meansMps, wayM = 0.55, lift = 'squat', loadKg = 100, scaleShare = 0.1, ...made }: MadeSet): Facts {
  const { repShare = 0.06 } = made;
  return exampleFacts(lift, {
    reps: known(meansMps.map((_, i) => ({ startS: 5 * i, turnS: 5 * i + 1.2, endS: 5 * i + 4.5 }))),
    caption: known({ lift, loadKg, loadUnit: 'kg', reps: meansMps.length, sets: null, rpe: null, question: null }),
    barSpeed: known({
      reps: meansMps.flatMap((meanMps, i) =>
        meanMps === null
          ? []
          : [
              {
                ...{ rep: i + 1, fromS: 5 * i + 1.2, toS: 5 * i + 1.2 + wayM / meanMps },
                ...{ meanMps, peakMps: 1.6 * meanMps, spreadShare: repShare, peakSpreadShare: 0.1 },
              },
            ],
      ),
      scale: { basis: 'stature', statureM: 1.73, staturePx: 300, spreadShare: scaleShare, statureSpreadShare: 0.09 },
    }),
  });
}

/** The record of a made set. */
export function madeSet(made: MadeSet): SetRecord {
  return setRecordOf(factsOfSet(made), { lift: made.lift ?? 'squat', statureM: made.statureM ?? null });
}
