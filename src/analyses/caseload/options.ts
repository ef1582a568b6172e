import { z } from 'zod';

export const optionsSchema = z.strictObject({
  /** When a horse is due: by the interval plan under its starting limits, or at the middle one of its own intervals. */
  due: z.enum(['plan', 'usual']).default('plan'),
  /** What falls due within so many days is of this week. */
  within_days: z.int().min(0).max(60).default(7),
});
export type CaseloadOptions = z.output<typeof optionsSchema>;
