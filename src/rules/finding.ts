import { z } from 'zod';

/** What a rule asks for: `off` never runs, `advise` is said but lets the clip pass, `fix` sends the clip back. */
export const Severity = z.enum(['off', 'advise', 'fix']);
export type Severity = z.infer<typeof Severity>;

/** What one rule found. `message` is a message id of that rule; `numbers` fill its placeholders (strings only for ids such as a part or a moment). */
export const Finding = z.strictObject({
  rule: z.string(),
  message: z.string(),
  severity: z.enum(['advise', 'fix']),
  numbers: z.record(z.string(), z.union([z.number(), z.string()])),
});
export type Finding = z.infer<typeof Finding>;
