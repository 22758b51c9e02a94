import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { z } from 'zod';
import type { LiftId } from '../facts/facts.ts';

/** What is known of a labelled clip; null where the label does not say. */
export interface Label {
  file: string;
  /** `real` labels are by eye, `rendered` ones exact. */
  source: 'real' | 'rendered';
  lift: LiftId;
  azimuthDeg: number | null;
  reps: number | null;
  startS: number | null;
  endS: number | null;
  elevationDeg: number | null;
  heightM: number | null;
  distanceM: number | null;
  /** The one defect that a coach would send the clip back for, `none` for a clean clip, null when not judged. */
  defect: string | null;
}

const Real = z.object({
  clips: z.array(
    z.object({
      file: z.string(),
      lift: z.string(),
      azimuth_deg: z.number().nullable(),
      reps: z.number().nullable(),
      first_rep_start_s: z.number().nullable(),
      last_rep_end_s: z.number().nullable(),
      reps_all_complete_in_clip: z.boolean(),
    }),
  ),
});
const Rendered = z.object({
  lift: z.string(),
  azimuth: z.number(),
  elevation: z.number(),
  cameraHeight: z.number(),
  distance: z.number(),
  liftStart: z.number().nullable(),
  liftEnd: z.number().nullable(),
  reps: z.array(z.unknown()),
  clean: z.boolean().optional(),
  defect: z.string().optional(),
});

const lifts: Record<string, LiftId> = {
  squat: 'squat',
  deadlift: 'deadlift',
  press: 'press',
  'overhead press': 'press',
  bench: 'bench',
  'bench press': 'bench',
};

/** Reads a file of labels: a list of clips beside it (`clips`), or the exact truth of the rendered clip of the same name. Throws on another shape. */
export function readLabels(path: string): Label[] {
  const data: unknown = JSON.parse(readFileSync(path, 'utf8'));
  const real = Real.safeParse(data);
  if (real.success) {
    return real.data.clips.map((clip) => ({
      file: join(dirname(path), clip.file),
      source: 'real',
      lift: lifts[clip.lift] ?? 'other',
      azimuthDeg: clip.azimuth_deg,
      reps: clip.reps_all_complete_in_clip ? clip.reps : null,
      startS: clip.reps_all_complete_in_clip ? clip.first_rep_start_s : null,
      endS: clip.reps_all_complete_in_clip ? clip.last_rep_end_s : null,
      elevationDeg: null,
      heightM: null,
      distanceM: null,
      defect: null,
    }));
  }
  const truth = Rendered.parse(data);
  return [
    {
      file: path.replace(/\.json$/, '.mp4'),
      source: 'rendered',
      lift: lifts[truth.lift] ?? 'other',
      azimuthDeg: truth.azimuth,
      reps: truth.reps.length,
      startS: truth.liftStart,
      endS: truth.liftEnd,
      elevationDeg: truth.elevation,
      heightM: truth.cameraHeight,
      distanceM: truth.distance,
      defect: truth.clean ? 'none' : (truth.defect ?? null),
    },
  ];
}
