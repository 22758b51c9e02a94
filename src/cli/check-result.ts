import { z } from 'zod';
import { Facts, LiftId } from '../facts/facts.ts';
import { Verdict } from '../judge/judgement.ts';
import { ClipErrorCode, Timings } from '../queue/payload.ts';
import { Finding } from '../rules/finding.ts';

const File = z.string().meta({ description: 'The file as it was named on the command line.' });

/** A clip that was measured and judged. */
const JudgedClip = z.strictObject({
  file: File,
  verdict: Verdict,
  lift: LiftId.nullable().meta({ description: 'The lift that it was judged as; null where none was sure enough.' }),
  findings: z.array(Finding).meta({ description: 'The most useful first; message is an id, its words are in the reply.' }),
  reply: z
    .strictObject({
      text: z.string(),
      pictures: z
        .array(z.strictObject({ path: z.string(), alt: z.string() }))
        .meta({ description: 'Written with --out only; the paths are absolute.' }),
    })
    .meta({ description: 'What a member would read and see.' }),
  trimmed: z.strictObject({ path: z.string(), startS: z.number().nonnegative(), endS: z.number().positive() }).optional().meta({
    description: 'The part of the clip worth keeping, written with --out where dead time was found; seconds of the clip.',
  }),
  facts: Facts,
  timings: Timings.meta({ description: 'Wall seconds by stage of the measurement.' }),
});

/** A clip that could not be read: a stable code for the log, a sentence for the member. */
const UnreadClip = z.strictObject({ file: File, error: z.strictObject({ code: ClipErrorCode, message: z.string() }) });

/** One line of `check --json`. */
export const CheckResult = z.union([JudgedClip, UnreadClip]);
export type CheckResult = z.infer<typeof CheckResult>;
