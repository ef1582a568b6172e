import { z } from 'zod';
import { PROBLEM_KEYS } from '../../herd/problems.ts';
import { groupingSchema } from '../groups.ts';

export const optionsSchema = z.strictObject({
  problem: z.enum(PROBLEM_KEYS).default('separation'),
  by: z.union([z.literal('none'), groupingSchema]).default('terrain'),
  /** Held alike in the adjusted comparison; the grouping compared is always in it. */
  adjust: z.array(groupingSchema).max(6).default(['breed_type', 'terrain', 'moisture', 'season', 'age_band']),
});
export type OnsetOptions = z.output<typeof optionsSchema>;
