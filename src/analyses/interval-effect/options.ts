import { z } from 'zod';
import { PROBLEM_KEYS } from '../../herd/problems.ts';
import { groupingSchema } from '../groups.ts';

export const optionsSchema = z.strictObject({
  problem: z.enum(PROBLEM_KEYS).default('separation'),
  /** Held at the herd's own mix in the adjusted and within-horse comparisons. */
  adjust: z.array(groupingSchema).max(6).default(['breed_type', 'terrain', 'moisture', 'season']),
  /** Weeks at which the risk is reported. */
  weeks: z.array(z.number().min(1).max(26)).min(2).max(8).default([4, 6, 8, 10, 12]),
});
export type IntervalOptions = z.output<typeof optionsSchema>;
