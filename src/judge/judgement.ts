import { z } from 'zod';
import { LiftId } from '../facts/facts.ts';
import { Finding } from '../rules/finding.ts';

/** `clean`: nothing to fix. `fix`: something to fix. `unsure`: nothing to fix, and something that matters could not be told. */
export const Verdict = z.enum(['clean', 'fix', 'unsure']);
export type Verdict = z.infer<typeof Verdict>;

/** The whole judgement of one clip; findings are sorted, the most useful first. */
export const Judgement = z.strictObject({
  verdict: Verdict,
  /** The lift that the clip was judged as (measured, or captioned where the measurement is not sure), null when none. */
  lift: LiftId.nullable(),
  findings: z.array(Finding),
  /** Rules that matter and could not be told, with the unknown reason. */
  cannotTell: z.array(z.strictObject({ rule: z.string(), reason: z.string() })),
  /** The part to keep when dead time is the only fault or worth cutting, seconds of the clip. */
  trim: z.strictObject({ startS: z.number().nonnegative(), endS: z.number().positive() }).nullable(),
  /** True when dead time was the only thing to fix, and trimming makes the clip clean. */
  cleanByTrim: z.boolean(),
  /** Where the camera should stand: azimuth in degrees nearest to where it is, and accepted range, height range in m; null when the lift is unknown. */
  wanted: z
    .strictObject({
      azimuthDeg: z.number(),
      heightM: z.tuple([z.number(), z.number()]),
      distanceM: z.tuple([z.number(), z.number()]),
    })
    .nullable(),
});
export type Judgement = z.infer<typeof Judgement>;
