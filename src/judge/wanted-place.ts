import type { Facts, LiftId } from '../facts/facts.ts';
import { wrapDeg } from '../facts/view.ts';
import { liftOf } from '../lifts/index.ts';
import { cameraHeight } from '../rules/camera-height.ts';
import { distance } from '../rules/distance.ts';
import type { ViewRequest } from '../rules/request.ts';
import { effectiveRule, type RulesSettings } from '../rules/settings.ts';
import { view } from '../rules/view.ts';
import { nearestAim, requestedZones, Zones } from '../rules/zones.ts';
import type { Judgement } from './judgement.ts';

type Range = [number, number];

/** Where the camera should stand: where it is when that is accepted, else the nearest aim; null when the lift is unknown. */
export function wantedPlace(
  facts: Facts,
  lift: LiftId | null,
  request: ViewRequest | null,
  settings: RulesSettings,
): Judgement['wanted'] {
  if (liftOf(lift) === null) return null;
  const zones =
    (request === null ? null : requestedZones(request.view)) ?? Zones.parse(effectiveRule(view, lift, settings).options.zones);
  const seenDeg = facts.view.known ? wrapDeg(facts.view.value.azimuthDeg) : null;
  const accepted =
    seenDeg !== null && zones.some(({ fromDeg, toDeg }) => Math.abs(seenDeg) >= fromDeg && Math.abs(seenDeg) <= toDeg);
  return {
    azimuthDeg: seenDeg === null ? zones[0]!.aimDeg : accepted ? seenDeg : nearestAim(zones, seenDeg),
    heightM: effectiveRule(cameraHeight, lift, settings).options.wantedM as Range,
    distanceM: effectiveRule(distance, lift, settings).options.wantedM as Range,
  };
}
