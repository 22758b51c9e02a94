import { z } from 'zod';
import { HeightClass } from '../facts/facts.ts';
import { advice, cannotTell, defineRule, found, pass } from './define.ts';
import { probabilityAbove } from './likelihood.ts';

const Metres = z.number().min(0).max(5);

/** Is the camera at a height from which the lift can be coached? Only a camera on the floor spoils a clip by default. */
export const cameraHeight = defineRule({
  id: 'camera-height',
  docs: 'The camera is not on the floor, and near the height that shows this lift best.',
  severity: 'fix',
  importance: 66,
  options: z.strictObject({
    /** Height to ask for, metres above the floor. */
    wantedM: z.tuple([Metres, Metres]).optional(),
    /** Heights from which the clip is sent back. */
    fix: z.array(HeightClass).optional(),
    /** Heights that are worth a word. */
    advise: z.array(HeightClass).optional(),
    /** Smallest probability of the height class for sending the clip back; the next class up from the floor is low, so half is plenty. */
    minConfidence: z.number().min(0).max(1).default(0.55),
    /** The same for a word: what is less likely than not is not said. */
    adviseConfidence: z.number().min(0).max(1).default(0.5),
    /** Where only the angle is known: a camera looks up from the floor when it is surely this far below the hips, degrees. */
    floorBelowDeg: z.number().min(-90).max(0).default(-8),
    /** Where the lift is not known: height to ask for, metres (common practice: some height in it suits each lift). */
    anyLiftM: z.tuple([Metres, Metres]).default([1, 1.8]),
    /** Where the lift is not known: smallest probability of the floor, the only height then spoken of. Chosen: the few clips read so were filmed from it. */
    anyLiftConfidence: z.number().min(0).max(1).default(0.75),
  }),
  messages: { 'too-low': ['heightClass', 'minM', 'maxM'], 'too-high': ['heightClass', 'minM', 'maxM'] },
  forLift: (lift) => ({
    wantedM: [...lift.heightM] as [number, number],
    fix: [...lift.heights.fix],
    advise: [...lift.heights.advise],
  }),
  notFor: ['bar-close-up'],
  check({ facts, options }) {
    const { wantedM, fix, advise } = options;
    const { heightClass, elevationDeg } = facts.camera;
    if (wantedM === undefined || fix === undefined || advise === undefined) {
      const onFloor =
        heightClass.known && heightClass.value === 'floor' && (heightClass.confidence ?? 1) >= options.anyLiftConfidence;
      if (!onFloor) return cannotTell('lift-unknown');
      return found('too-low', { heightClass: 'floor', minM: options.anyLiftM[0], maxM: options.anyLiftM[1] });
    }
    const [minM, maxM] = wantedM;
    if (!heightClass.known) {
      if (!elevationDeg.known || !fix.includes('floor')) return cannotTell(heightClass.reason);
      const belowFloorAngle = 1 - probabilityAbove(elevationDeg.value, elevationDeg.spread ?? 10, options.floorBelowDeg);
      if (belowFloorAngle >= 0.9) return found('too-low', { heightClass: 'floor', minM, maxM });
      return cannotTell(heightClass.reason);
    }
    const seen = heightClass.value;
    const spoils = fix.includes(seen);
    if (!spoils && !advise.includes(seen)) return pass;
    const confidence = heightClass.confidence ?? 1;
    if (confidence < options.adviseConfidence) return spoils ? cannotTell('ambiguous') : pass;
    const say = spoils && confidence >= options.minConfidence ? found : advice;
    const order = HeightClass.options;
    const middleM = (minM + maxM) / 2; // the bounds of the classes: src/facts/facts.ts
    const wantedClass =
      middleM < 0.35 ? 'floor' : middleM < 0.7 ? 'low' : middleM < 1.35 ? 'waist' : middleM < 2 ? 'head' : 'above';
    return say(order.indexOf(seen) > order.indexOf(wantedClass) ? 'too-high' : 'too-low', { heightClass: seen, minM, maxM });
  },
});
