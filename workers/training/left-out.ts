import { viewClassOf, wrapDeg } from '../../src/facts/view.ts';
import type { Pose } from '../pose/types.ts';
import { viewOf } from '../stages/view.ts';
import type { ViewNets } from '../stages/view-net.ts';
import type { StillsLine } from './stills.ts';

/** How near the view comes to the truth on clips, with networks or by the lines across the body alone (null). Clips with an unknown view are not counted. */
export function errorsOf(
  lines: readonly StillsLine[],
  nets: ViewNets | null,
): { known: number; medianDeg: number; meanDeg: number; classShare: number } {
  const answers = lines.flatMap(({ azimuthDeg, lift, poses }) => {
    const seen = poses.map(({ presence, points, world }): Pose => {
      const next = { cx: 0, cy: 0, sidePx: 0, angleRad: 0 };
      return { presence, points: Float32Array.from(points), world: Float32Array.from(world), next };
    });
    const view = viewOf(seen, lift, nets);
    if (!view.known) return [];
    const right = viewClassOf(azimuthDeg) === view.value.class;
    return [{ errorDeg: Math.abs(wrapDeg(view.value.azimuthDeg - azimuthDeg)), right }];
  });
  const errors = answers.map(({ errorDeg }) => errorDeg).sort((a, b) => a - b);
  return {
    known: answers.length,
    medianDeg: errors[errors.length >> 1] ?? Number.NaN,
    meanDeg: errors.reduce((sum, error) => sum + error, 0) / errors.length,
    classShare: answers.filter(({ right }) => right).length / answers.length,
  };
}
