import { viewClassOf, wrapDeg } from '../../src/facts/view.ts';
import type { Pose } from '../pose/types.ts';
import { elevationOf } from '../stages/camera.ts';
import type { Nets } from '../stages/camera-net.ts';
import { viewOf } from '../stages/view.ts';
import type { StillsLine } from './stills.ts';

function posesOf({ poses }: StillsLine): Pose[] {
  const next = { cx: 0, cy: 0, sidePx: 0, angleRad: 0 };
  return poses.map(({ presence, points, world }) => ({
    ...{ presence, next, points: Float32Array.from(points), world: Float32Array.from(world) },
  }));
}

const isBench = ({ lift }: StillsLine) => lift === 'bench';
const medianOf = (values: readonly number[]) => values.toSorted((a, b) => a - b)[values.length >> 1] ?? Number.NaN;
const meanOf = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
const told = (errors: readonly number[]) => `median ${medianOf(errors).toFixed(1)}, mean ${meanOf(errors).toFixed(1)} degrees`;

/** How near the view comes to the truth on clips, with networks or by the lines across the body alone (null); in words, clips with an unknown view not counted. */
function azimuthErrors(lines: readonly StillsLine[], nets: Nets | null): string {
  const answers = lines.flatMap((line) => {
    const view = viewOf(posesOf(line), line.lift, nets);
    if (!view.known) return [];
    const errorDeg = Math.abs(wrapDeg(view.value.azimuthDeg - line.azimuthDeg));
    return [{ errorDeg, right: viewClassOf(line.azimuthDeg) === view.value.class }];
  });
  const rightShare = answers.filter(({ right }) => right).length / answers.length;
  const errors = told(answers.map(({ errorDeg }) => errorDeg));
  return `${answers.length} of ${lines.length} clips left out, ${errors}, class ${(100 * rightShare).toFixed(0)} %`;
}

const elevationErrors = (lines: readonly StillsLine[], nets: Nets): string =>
  told(lines.map((line) => Math.abs(elevationOf(posesOf(line), isBench(line), nets) - line.elevationDeg)));

/** A line for each group of clips that says how near networks trained on others come to the truth. */
export function reportOn(lines: readonly StillsLine[], kind: 'azimuth' | 'elevation', nets: Nets): string[] {
  const groups = { standing: lines.filter((line) => !isBench(line)), bench: lines.filter(isBench) };
  return Object.entries(groups).flatMap(([name, some]) =>
    kind === 'elevation'
      ? [`${name}: ${some.length} clips left out, ${elevationErrors(some, nets)}`]
      : [`${name}, lines: ${azimuthErrors(some, null)}`, `${name}, both: ${azimuthErrors(some, nets)}`],
  );
}
