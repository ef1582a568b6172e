import { z } from 'zod';

export const optionsSchema = z.strictObject({
  /** A horse of the cohort by its id; left out, the one with most visits. */
  horse: z.string().default(''),
  /** How far the drawings look back from its last visit. */
  years: z.number().min(0.25).max(100).default(2),
});
export type OneHorseOptions = z.output<typeof optionsSchema>;
