import { z } from 'zod';

/** Why a fact is unknown. `unreadable-*` come with an error code in the log; the rest are limits of what the picture shows. */
export const UnknownReason = z.enum([
  'not-measured',
  'no-lifter',
  'no-lift',
  'lifter-unclear',
  'too-few-frames',
  'hidden',
  'too-dark',
  'camera-moves',
  'slow-motion',
  'cut-inside',
  'ambiguous',
  'not-stated',
  'container-silent',
]);
export type UnknownReason = z.infer<typeof UnknownReason>;

/**
 * A measured fact: known with a value, or unknown with a reason.
 * `spread` is the half-width of the 90 % interval in the value's own unit (of the angle for a view); `confidence` is the
 * probability, 0..1, that the value is right where the value is a class or a count.
 */
export function factOf<T extends z.ZodType>(value: T) {
  return z.discriminatedUnion('known', [
    z.strictObject({
      known: z.literal(true),
      value,
      spread: z.number().nonnegative().optional(),
      confidence: z.number().min(0).max(1).optional(),
    }),
    z.strictObject({ known: z.literal(false), reason: UnknownReason }),
  ]);
}

/** The type of a fact with a value of type T; see {@link factOf}. */
export type Fact<T> =
  | { known: true; value: T; spread?: number | undefined; confidence?: number | undefined }
  | { known: false; reason: UnknownReason };

/** A known fact. */
export function known<T>(value: T, sure: { spread?: number; confidence?: number } = {}): Fact<T> {
  return { known: true, value, ...sure };
}

/** An unknown fact. */
export function unknown<T>(reason: UnknownReason): Fact<T> {
  return { known: false, reason };
}
