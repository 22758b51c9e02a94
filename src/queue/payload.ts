import { z } from 'zod';
import { Facts } from '../facts/facts.ts';

/** Limits on one clip; each is a setting. */
export const ClipLimits = z.strictObject({
  maxBytes: z.int().positive(),
  maxDurationS: z.number().positive(),
  maxPixels: z.int().positive(),
  timeoutS: z.number().positive(),
  maxMemoryMb: z.int().positive(),
});
export type ClipLimits = z.infer<typeof ClipLimits>;

/** What a worker process can be asked to do with one clip on its disk. Paths are absolute. */
export const Task = z.discriminatedUnion('kind', [
  /** Measure everything. `captionLift` is a hint (never believed against the picture). */
  z.strictObject({ kind: z.literal('measure'), id: z.string(), file: z.string(), limits: ClipLimits }),
  /** Write the part [startS, endS] as a small upright mp4 without location data, at most maxBytes. */
  z.strictObject({
    kind: z.literal('cut'),
    id: z.string(),
    file: z.string(),
    out: z.string(),
    startS: z.number(),
    endS: z.number(),
    turnDeg: z.union([z.literal(0), z.literal(90), z.literal(180), z.literal(270)]),
    maxBytes: z.int().positive(),
    limits: ClipLimits,
  }),
  /** Write one JPEG still for each time into the folder `out` (000.jpg, 001.jpg, ...), upright, at most 480 px on the long side. */
  z.strictObject({
    kind: z.literal('stills'),
    id: z.string(),
    file: z.string(),
    out: z.string(),
    timesS: z.array(z.number()).min(1).max(60),
    turnDeg: z.union([z.literal(0), z.literal(90), z.literal(180), z.literal(270)]),
    limits: ClipLimits,
  }),
]);
export type Task = z.infer<typeof Task>;

/** Stable codes of a clip that could not be read; each has a sentence for the member in src/wording. */
export const ClipErrorCode = z.enum([
  'clip-empty',
  'clip-missing',
  'clip-no-permission',
  'clip-too-big',
  'clip-not-video',
  'clip-image-or-audio-only',
  'clip-playlist',
  'clip-codec-unknown',
  'clip-damaged',
  'clip-too-long',
  'clip-too-many-pixels',
  'clip-time-gaps',
  'clip-took-too-long',
  'clip-took-too-much-memory',
  'worker-died',
]);
export type ClipErrorCode = z.infer<typeof ClipErrorCode>;

/** Wall seconds by stage of one measurement. */
export const Timings = z.record(z.string(), z.number().nonnegative());
export type Timings = z.infer<typeof Timings>;

/** What a worker process answers. `retry`: the fault may pass (disk, memory); a bad clip never does. */
export const Answer = z.discriminatedUnion('kind', [
  /** `poseCpuS`: CPU seconds that the pose models took of it. */
  z.strictObject({
    kind: z.literal('facts'),
    id: z.string(),
    facts: Facts,
    timings: Timings,
    poseCpuS: z.number().nonnegative().optional(),
  }),
  z.strictObject({ kind: z.literal('written'), id: z.string(), paths: z.array(z.string()), bytes: z.int() }),
  z.strictObject({ kind: z.literal('failed'), id: z.string(), code: ClipErrorCode, detail: z.string(), retry: z.boolean() }),
  z.strictObject({ kind: z.literal('progress'), id: z.string(), share: z.number().min(0).max(1), stage: z.string() }),
]);
export type Answer = z.infer<typeof Answer>;
