import { expect, it } from 'vitest';
import { liftAsSet } from '../../src/judge/lift-as-set.ts';
import { lifts } from '../../src/lifts/index.ts';

const lift = lifts[0]!;

it('leaves a lift as it is where the rules file says nothing', () => {
  for (const one of lifts) expect(liftAsSet(one, {})).toEqual(one);
});

it('takes the place of the phone from the rules file, for its lift only', () => {
  const zones = [{ fromDeg: 60, toDeg: 120, aimDeg: 90 }];
  const settings = {
    view: { lifts: { [lift.id]: { options: { zones } } } },
    distance: { options: { wantedM: [3, 5] } },
    'camera-height': { lifts: { bench: { options: { wantedM: [1, 2] } } } },
  };
  expect(liftAsSet(lift, settings)).toEqual({ ...lift, zones, distanceM: [3, 5] });
});
