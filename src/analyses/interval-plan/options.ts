import { z } from 'zod';
import type { ProblemKey } from '../../herd/problems.ts';

/**
 * The limits a practitioner sets. Four to ten weeks between trims is common practice; a toe tolerance of 15 mm, a risk
 * of 1 in 10 and a confidence of 4 in 5 are starting points of this notebook's own, with no published source.
 */
export const optionsSchema = z
  .strictObject({
    /** mm the toe may have grown since the last trim. */
    tolerance_mm: z.number().min(1).max(60).default(15),
    /** Accepted risk that a clear foot shows a separation at the next visit. */
    risk_separation: z.number().gt(0).lt(1).default(0.1),
    /** The same for infection: of the frog, and of the wall, each by itself. */
    risk_infection: z.number().gt(0).lt(1).default(0.1),
    /** That the toe stays within the tolerance, and that a risk stays under its limit: one-sided. */
    confidence: z.number().min(0.55).max(0.99).default(0.8),
    least_weeks: z.number().min(1).max(26).default(4),
    most_weeks: z.number().min(2).max(26).default(10),
    /** Horses due within so many days are on the round. */
    round_days: z.number().int().min(0).max(60).default(7),
    /** What if every horse were seen at these. */
    weeks: z.array(z.number().min(1).max(26)).min(1).max(8).default([5, 6, 7, 8]),
    /** One horse alone, by its id, or none for the round; the models still rest on every horse. */
    horse: z.string().default(''),
  })
  .refine((options) => options.least_weeks <= options.most_weeks, {
    path: ['least_weeks'],
    error: ({ input }) =>
      `must not be above most_weeks: ${(input as { least_weeks?: number } | undefined)?.least_weeks}`,
  });
export type PlanOptions = z.output<typeof optionsSchema>;

/** Problems whose onset limits an interval. */
export const PLANNED_PROBLEMS = [
  'separation',
  'frog_infection',
  'wall_infection',
] as const satisfies readonly ProblemKey[];
export type PlannedProblem = (typeof PLANNED_PROBLEMS)[number];

export function riskLimit(options: PlanOptions, problem: PlannedProblem): number {
  return problem === 'separation' ? options.risk_separation : options.risk_infection;
}

/** A horse unseen for longer, in days, counts as no longer on the round: half a year. */
export const ROUND_ENDS_DAYS = 183;
