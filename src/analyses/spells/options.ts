import { z } from 'zod';
import { PROBLEM_KEYS } from '../../herd/problems.ts';

export const optionsSchema = z.strictObject({
  problem: z.enum(PROBLEM_KEYS).default('separation'),
  replicates: z.int().min(50).max(2000).default(200),
  seed: z.int().default(1),
});
export type SpellsOptions = z.output<typeof optionsSchema>;
