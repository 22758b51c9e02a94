import type { LiftData } from '../lifts/index.ts';
import { cameraHeight } from '../rules/camera-height.ts';
import { distance } from '../rules/distance.ts';
import { effectiveRule, type RulesSettings } from '../rules/settings.ts';
import { view } from '../rules/view.ts';
import { Zones } from '../rules/zones.ts';

/** A lift's data with the place of the phone as the rules file sets it, so that a guide says what the judge goes by. */
export function liftAsSet(lift: LiftData, settings: RulesSettings): LiftData {
  const range = (value: unknown, usual: readonly [number, number]) => (value as [number, number] | undefined) ?? usual;
  return {
    ...lift,
    zones: Zones.parse(effectiveRule(view, lift.id, settings).options.zones),
    heightM: range(effectiveRule(cameraHeight, lift.id, settings).options.wantedM, lift.heightM),
    distanceM: range(effectiveRule(distance, lift.id, settings).options.wantedM, lift.distanceM),
  };
}
