import { z } from 'zod';
import { factOf } from './fact.ts';

/** The lifts that the project knows; `other` is any other movement. Ids are the file names in src/lifts. */
export const LiftId = z.enum(['squat', 'press', 'deadlift', 'bench', 'other']);
export type LiftId = z.infer<typeof LiftId>;

/** View classes around the lifter, without side: front |a| <= 22.5, front-quarter to 67.5, side to 112.5, rear-quarter to 157.5, rear. */
export const ViewClass = z.enum(['front', 'front-quarter', 'side', 'rear-quarter', 'rear']);
export type ViewClass = z.infer<typeof ViewClass>;

/** Camera height above the floor: floor < 0.35 m, low < 0.7 m, waist < 1.35 m, head < 2.0 m, above. Common practice of the trade. */
export const HeightClass = z.enum(['floor', 'low', 'waist', 'head', 'above']);
export type HeightClass = z.infer<typeof HeightClass>;

/** Body parts (and the bar) whose place in the picture is followed through the lift. */
export const Part = z.enum(['head', 'shoulders', 'elbows', 'hands', 'hips', 'knees', 'feet', 'bar']);
export type Part = z.infer<typeof Part>;

/** The moments of a rep at which a part can be lost: `start` of the rep, the `turn` (bottom of a squat or bench), the `lockout`. */
export const Moment = z.enum(['start', 'turn', 'lockout']);
export type Moment = z.infer<typeof Moment>;

const Seconds = z.number().nonnegative();
const Share = z.number().min(0).max(1);

/** One rep in clip time, seconds. `turnS` is where the direction changes: bottom of squat and bench, lockout of press and deadlift. */
export const Rep = z.strictObject({ startS: Seconds, turnS: Seconds, endS: Seconds });
export type Rep = z.infer<typeof Rep>;

/** Container and stream: size of the upright picture in px after rotation metadata; rotationDeg is clockwise 0|90|180|270. */
export const ClipFacts = z.strictObject({
  durationS: Seconds,
  widthPx: z.int().positive(),
  heightPx: z.int().positive(),
  rotationDeg: z.number(),
  fps: z.number().positive(),
  variableFps: z.boolean(),
  slowMotion: z.boolean(),
  codec: z.string(),
  bytes: z.int().nonnegative(),
});
export type ClipFacts = z.infer<typeof ClipFacts>;

export const PartFacts = z.strictObject({
  /** Share of the lift window in which the part is inside the picture and not hidden. */
  share: Share,
  /** Share of the lift window in which the part is outside the picture. */
  outsideShare: Share,
  /** Moments at which the part is outside the picture. */
  lostAt: z.array(Moment),
});
export type PartFacts = z.infer<typeof PartFacts>;

/** What was read from the caption. Load in kg with the unit as typed; `question` is what the member asked, null when nothing. */
export const CaptionFacts = z.strictObject({
  lift: LiftId.nullable(),
  loadKg: z.number().positive().nullable(),
  loadUnit: z.enum(['kg', 'lb']).nullable(),
  reps: z.int().positive().nullable(),
  sets: z.int().positive().nullable(),
  rpe: z.number().min(1).max(10).nullable(),
  question: z.string().nullable(),
});
export type CaptionFacts = z.infer<typeof CaptionFacts>;

/**
 * The bar's speed on one way up (squat and bench: from the turn, press and deadlift: from the start), vertical, m/s, between `fromS` and `toS`, where
 * it moves faster than a tenth of its peak. `rep`: place in `reps`, from 1. Both shares are half-widths of 90 % intervals against other reps of the
 * clip; the scale's come on top, alike for all reps.
 */
export const RepSpeed = z.strictObject({
  rep: z.int().positive(),
  fromS: Seconds,
  toS: Seconds,
  meanMps: z.number().positive(),
  peakMps: z.number().positive(),
  spreadShare: z.number().nonnegative(),
  peakSpreadShare: z.number().nonnegative(),
});
export type RepSpeed = z.infer<typeof RepSpeed>;

/**
 * Bar speed by rep; a rep that could not be measured is left out. Metres come from the lifter's body taken to be `statureM` tall and `staturePx`
 * high in the picture (basis `stature`: multiply by another stature over `statureM`). Both shares are half-widths of 90 % intervals: `spreadShare`
 * of this clip's scale for a lifter of that stature, `statureSpreadShare` of the stature.
 */
export const BarSpeed = z.strictObject({
  reps: z.array(RepSpeed),
  scale: z.strictObject({
    basis: z.literal('stature'),
    statureM: z.number().positive(),
    staturePx: z.number().positive(),
    spreadShare: z.number().nonnegative(),
    statureSpreadShare: z.number().nonnegative(),
  }),
});
export type BarSpeed = z.infer<typeof BarSpeed>;

/** All that the worker reports of one clip. Facts hold no opinion: thresholds of taste live in the rules' settings. */
export const Facts = z.strictObject({
  clip: factOf(ClipFacts),
  /** Times of hard cuts, seconds. */
  cuts: factOf(z.array(Seconds)),
  /** rmsPerS: rms movement of the still background per second, as a share of the picture's width. */
  steadiness: factOf(
    z.strictObject({ class: z.enum(['tripod', 'propped-or-held', 'moving']), rmsPerS: z.number().nonnegative() }),
  ),
  /** mean: luma 0..1 over the clip; dark: too dark to see the lifter; backlit: lifter much darker than what is behind. */
  light: factOf(z.strictObject({ mean: Share, dark: z.boolean(), backlit: z.boolean() })),
  /** Edge sharpness of key frames, 0 (blurred) .. 1 (crisp). */
  sharpness: factOf(Share),
  /** How many people stand in the picture during the lift, and the lifter's height as a share of the picture's height. */
  people: factOf(z.strictObject({ count: z.int().nonnegative(), lifterHeightShare: z.number().nonnegative() })),
  /** How the scene stands in the played picture, apart from metadata. `sideways-left`: the head points to the left. */
  orientation: factOf(z.enum(['upright', 'sideways-left', 'sideways-right', 'upside-down'])),
  lift: factOf(LiftId),
  reps: factOf(z.array(Rep)),
  /** From the start of the first rep to the end of the last. */
  liftWindow: factOf(z.strictObject({ startS: Seconds, endS: Seconds })),
  /** leadInS before the lift window, tailS after it, longestRestS between two reps. */
  deadTime: factOf(z.strictObject({ leadInS: Seconds, tailS: Seconds, longestRestS: Seconds })),
  /** Azimuth in degrees (-180, 180]: 0 straight in front of the lifter, +90 on the lifter's left; on the bench 0 is the foot end. */
  view: factOf(z.strictObject({ azimuthDeg: z.number(), class: ViewClass, side: z.enum(['left', 'right', 'middle']) })),
  /** Elevation of the camera above the lifter's mid-hip horizontal in degrees, its height class, its distance in m. */
  camera: z.strictObject({
    elevationDeg: factOf(z.number()),
    heightClass: factOf(HeightClass),
    distanceM: factOf(z.number().positive()),
  }),
  inFrame: z.strictObject({
    head: factOf(PartFacts),
    shoulders: factOf(PartFacts),
    elbows: factOf(PartFacts),
    hands: factOf(PartFacts),
    hips: factOf(PartFacts),
    knees: factOf(PartFacts),
    feet: factOf(PartFacts),
    bar: factOf(PartFacts),
  }),
  /** A foreground object across the picture's bottom or over the lifter; share: part of the lifter's height that it covers. */
  obstruction: factOf(z.strictObject({ kind: z.enum(['none', 'bottom', 'over-lifter']), share: Share })),
  /** Facts of earlier versions have none. */
  barSpeed: factOf(BarSpeed).default({ known: false, reason: 'not-measured' }),
  caption: factOf(CaptionFacts),
});
export type Facts = z.infer<typeof Facts>;
