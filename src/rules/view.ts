import { z } from 'zod';
import { sideOf, viewClassOf, wrapDeg } from '../facts/view.ts';
import { advice, cannotTell, defineRule, found, pass } from './define.ts';
import { probabilityOutside } from './likelihood.ts';
import { nearestAim, requestedZones, Zones } from './zones.ts';

const seenAndWanted = [
  'azimuthDeg',
  'seenClass',
  'seenSide',
  'wantedDeg',
  'wantedClass',
  'wantedSide',
  'moveDeg',
  'walk',
  'around',
] as const;

/** Does the camera stand where the lift, or the coach who asked, needs it? */
export const view = defineRule({
  id: 'view',
  docs: 'The camera stands at a place around the lifter from which this lift can be coached.',
  severity: 'fix',
  importance: 80,
  options: z.strictObject({
    /** Accepted places, the preferred first. */
    zones: Zones.optional(),
    /** Smallest probability that the camera stands outside all of them for sending the clip back. Chosen. */
    fixAt: z.number().min(0).max(1).default(0.9),
    /** The same for a word of advice. Chosen: more likely than not, with room. */
    adviseAt: z.number().min(0).max(1).default(0.7),
    /** Below this confidence (chosen) front and rear may be swapped, and a view that would then matter cannot be told. */
    minConfidence: z.number().min(0).max(1).default(0.75),
    /** A wider 90 % half-width in degrees is no measurement. */
    maxSpreadDeg: z.number().positive().default(60),
    /** 90 % half-width in degrees where the measurement states none. Chosen, nearly a view class. */
    assumedSpreadDeg: z.number().positive().default(20),
  }),
  messages: { 'outside-accepted': seenAndWanted, 'not-requested': [...seenAndWanted, 'requestedClass'] },
  forLift: (lift) => ({ zones: [...lift.zones] }),
  notFor: ['bar-close-up'],
  check({ facts, options, request }) {
    const asked = request === null ? null : requestedZones(request.view);
    const zones = asked ?? options.zones;
    if (zones === undefined) return cannotTell('lift-unknown');
    if (!facts.view.known) return cannotTell(facts.view.reason);
    const { value, spread = options.assumedSpreadDeg, confidence = 1 } = facts.view;
    if (spread > options.maxSpreadDeg) return cannotTell('ambiguous');
    const outside = probabilityOutside(zones, value.azimuthDeg, spread, confidence);
    if (outside < options.fixAt) {
      const swapMatters = Math.abs(outside - probabilityOutside(zones, value.azimuthDeg, spread, 1)) > 0.1; // chosen: less would change no verdict
      if (confidence < options.minConfidence && swapMatters) return cannotTell('ambiguous');
      if (outside < options.adviseAt) return pass;
    }
    const azimuthDeg = wrapDeg(value.azimuthDeg);
    const wantedDeg = nearestAim(zones, azimuthDeg);
    const turnDeg = wrapDeg(wantedDeg - azimuthDeg);
    const numbers = {
      azimuthDeg: Math.round(azimuthDeg),
      seenClass: viewClassOf(azimuthDeg),
      seenSide: sideOf(azimuthDeg),
      wantedDeg: Math.round(wantedDeg),
      wantedClass: viewClassOf(wantedDeg),
      wantedSide: sideOf(wantedDeg),
      moveDeg: Math.round(Math.abs(turnDeg)),
      // Facing the lifter from the camera's place, growing azimuth (counterclockwise from above) is to one's right.
      walk: turnDeg > 0 ? 'right' : 'left',
      around: turnDeg > 0 ? 'counterclockwise' : 'clockwise',
    };
    const say = outside >= options.fixAt ? found : advice;
    if (asked === null || request === null) return say('outside-accepted', numbers);
    return say('not-requested', { ...numbers, requestedClass: request.view });
  },
});
