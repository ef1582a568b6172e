import { z } from 'zod';
import { PROBLEM_KEYS } from '../../herd/problems.ts';
import { groupingSchema } from '../groups.ts';

export const optionsSchema = z.strictObject({
  problems: z
    .array(z.enum(PROBLEM_KEYS))
    .min(1)
    .default([...PROBLEM_KEYS]),
  /** `quarter`: by three-month season and year. */
  by: z.union([z.literal('none'), z.literal('quarter'), groupingSchema]).default('none'),
  /** `latest`: each foot once, as last graded; `every`: every graded visit. */
  at: z.enum(['latest', 'every']).default('latest'),
});
export type PrevalenceOptions = z.output<typeof optionsSchema>;
