import { z } from 'zod';
import { ClipLimits } from './payload.ts';

/** Name of the queue in Redis, within the prefix. */
export const queueName = 'clips';

/** What a worker is told of a clip: where to get it and how much it may be. Clear text in Redis, so no token and no caption. */
export const JobData = z.strictObject({
  id: z.string(),
  clip: z.discriminatedUnion('kind', [
    /** A signed address of the bot, good for one fetch until it expires. */
    z.strictObject({ kind: z.literal('address'), url: z.url() }),
    /** Name of a file in the folder that bot and workers share. */
    z.strictObject({ kind: z.literal('folder'), name: z.string().regex(/^[\w.-]+$/) }),
  ]),
  limits: ClipLimits,
  /** Failed tries so far. */
  deaths: z.int().nonnegative(),
});
export type JobData = z.infer<typeof JobData>;

/** Begins the reason of a job that failed because the clip could not be fetched: the bot signs a new address. */
export const unreachable = 'clip-unreachable';
/** Begins the reason when the address was used before: an earlier try got the clip. */
export const addressUsed = `${unreachable}: used`;
