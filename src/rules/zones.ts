import { z } from 'zod';
import { wrapDeg } from '../facts/view.ts';
import type { Zone } from '../lifts/index.ts';
import type { RequestedView } from './request.ts';

const Angle = z.number().min(0).max(180);

/** Accepted places of the camera as options: ranges of |azimuth| in degrees that do not overlap, the preferred first. */
export const Zones = z
  .array(z.strictObject({ fromDeg: Angle, toDeg: Angle, aimDeg: Angle }))
  .min(1)
  .superRefine((zones, issues) => {
    zones.forEach(({ fromDeg, toDeg, aimDeg }, at) => {
      if (fromDeg >= toDeg)
        issues.addIssue({ code: 'custom', path: [at], message: `fromDeg ${fromDeg} must be below toDeg ${toDeg}` });
      if (aimDeg < fromDeg || aimDeg > toDeg)
        issues.addIssue({ code: 'custom', path: [at], message: `aimDeg ${aimDeg} must lie inside the range` });
      const other = zones.findIndex((zone, i) => i > at && zone.fromDeg < toDeg && fromDeg < zone.toDeg);
      if (other >= 0) issues.addIssue({ code: 'custom', path: [other], message: `the range overlaps range ${at + 1}` });
    });
  });

/** The aim nearest to the camera, on the side on which it stands; degrees in (-180, 180]. The preferred zone wins a tie. */
export function nearestAim(zones: readonly Zone[], azimuthDeg: number): number {
  let best = zones[0]?.aimDeg ?? 0;
  let bestMove = Number.POSITIVE_INFINITY;
  for (const { aimDeg } of zones) {
    const target = azimuthDeg < 0 && azimuthDeg > -180 ? wrapDeg(-aimDeg) : aimDeg;
    const move = Math.abs(wrapDeg(target - azimuthDeg));
    if (move < bestMove - 1e-9) [best, bestMove] = [target, move];
  }
  return best;
}

/** Zones of a requested view class; null for a request that asks for no class. Bounds as in src/facts/view.ts. */
export function requestedZones(view: RequestedView): Zone[] | null {
  switch (view) {
    case 'front':
      return [{ fromDeg: 0, toDeg: 22.5, aimDeg: 0 }];
    case 'front-quarter':
      return [{ fromDeg: 22.5, toDeg: 67.5, aimDeg: 45 }];
    case 'side':
      return [{ fromDeg: 67.5, toDeg: 112.5, aimDeg: 90 }];
    case 'rear-quarter':
      return [{ fromDeg: 112.5, toDeg: 157.5, aimDeg: 135 }];
    case 'rear':
      return [{ fromDeg: 157.5, toDeg: 180, aimDeg: 180 }];
    default:
      return null;
  }
}
