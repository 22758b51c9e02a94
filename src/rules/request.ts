import { z } from 'zod';
import { LiftId, ViewClass } from '../facts/facts.ts';

/** What a coach can ask to see: a view class, the bar's place close up, or the setup and walk-out before the first rep. */
export const RequestedView = z.enum([...ViewClass.options, 'bar-close-up', 'setup-and-walk-out']);
export type RequestedView = z.infer<typeof RequestedView>;

/** A coach's wish for one member and lift; the member's next clip of that lift is judged by it. */
export const ViewRequest = z.strictObject({ lift: LiftId, view: RequestedView });
export type ViewRequest = z.infer<typeof ViewRequest>;
