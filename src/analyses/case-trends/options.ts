import { z } from 'zod';
import { PROBLEM_KEYS } from '../../herd/problems.ts';
import { groupingSchema } from '../groups.ts';

export const optionsSchema = z.strictObject({
  problem: z.enum(PROBLEM_KEYS).default('separation'),
  /** The case definition: a foot is a case from this grade on. */
  grade: z.number().int().min(1).max(3).default(1),
  by: z.union([z.literal('none'), groupingSchema]).default('none'),
  /**
   * `spread`: a case new at a visit began on some day since the visit before, and counts in the months of those days in
   * proportion; `visit`: it counts in the month of the visit.
   */
  dating: z.enum(['spread', 'visit']).default('spread'),
  /** The latest months are watched, against what the months before let one expect. */
  watch: z.number().int().min(3).max(36).default(12),
  /** Months in which the running sum may give one false alarm, on average. */
  false_alarm: z.number().int().min(12).max(240).default(120),
  /** The rise in the rate that the running sum is tuned to. */
  rise: z.number().min(1.1).max(4).default(1.5),
  /** Cases listed: all, or those standing at the foot’s last graded visit. */
  list: z.enum(['all', 'standing']).default('all'),
  /** The latest so many are listed. */
  limit: z.number().int().min(1).max(50_000).default(5_000),
});
export type TrendOptions = z.output<typeof optionsSchema>;
