import { z } from 'zod';
import type { Outcome } from '../../core/outcome.ts';
import { PROBLEM_KEYS } from '../../herd/problems.ts';
import type { KaplanMeierFit } from '../../stats/kaplan-meier.ts';
import type { TurnbullBands } from '../../stats/turnbull-bands.ts';
import { groupingSchema } from '../groups.ts';

export const optionsSchema = z.strictObject({
  problem: z.enum(PROBLEM_KEYS).default('separation'),
  by: z.union([z.literal('none'), groupingSchema]).default('breed_type'),
  /** Days after the first clear visit at which the share is reported. */
  horizons: z.array(z.int().min(1).max(3650)).min(1).max(6).default([90, 180, 365]),
  replicates: z.int().min(50).max(2000).default(200),
  seed: z.int().default(1),
});
export type RecurrenceOptions = z.output<typeof optionsSchema>;

/** Clear spells that followed a present one: the rows of this analysis. Times in days from the first clear visit. */
export interface ClearSpells {
  readonly level: readonly (string | null)[];
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  /** Last visit still clear. */
  readonly left: Float64Array;
  /** First visit with the problem back; Infinity where none was seen. */
  readonly right: Float64Array;
  /** Visit-to-visit looks taken. */
  readonly looks: Float64Array;
}

/** One group's answer: both ways of reading the same rows. */
export interface GroupReturn {
  readonly level: string;
  readonly where: string;
  readonly nHorses: number;
  readonly nFeet: number;
  readonly nSpells: number;
  readonly nLooks: number;
  readonly bands: Outcome<TurnbullBands>;
  readonly visitDate: Outcome<KaplanMeierFit>;
}
