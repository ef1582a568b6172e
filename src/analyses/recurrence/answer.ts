import { z } from 'zod';
import type { Estimate, Outcome } from '../../core/outcome.ts';
import { PROBLEM_KEYS, type ProblemKey, problemLabel } from '../../herd/problems.ts';
import type { KaplanMeierFit } from '../../stats/kaplan-meier.ts';
import type { BandsBegun, TurnbullBands } from '../../stats/turnbull-bands.ts';
import type { WeibullFit } from '../../stats/weibull-interval.ts';
import type { Counts } from '../format.ts';
import { type Coded, spellGroupingSchema } from '../groups.ts';

export const optionsSchema = z.strictObject({
  problem: z.enum(PROBLEM_KEYS).default('separation'),
  // What a foot left in is known of a trim, not of a spell.
  by: z.union([z.literal('none'), spellGroupingSchema]).default('breed_type'),
  /** Days after the first clear visit at which the share is reported. */
  horizons: z.array(z.int().min(1).max(3650)).min(1).max(6).default([90, 180, 365]),
  /** Resampled herds behind the bands; half as many for each group. */
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

/** Trim cycles of feet that have had the problem, for the two-state model. */
export interface ReturnPairs {
  readonly level: Coded;
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  readonly days: Float64Array;
  /** 0 clear, 1 present at the trim and at the next visit. */
  readonly start: Uint8Array;
  readonly end: Uint8Array;
}

/** Return at one steady rate, with what came back and cleared unseen counted. */
export interface SteadyReturn {
  /** Onsets per foot-year while clear. */
  readonly rate: Estimate;
  readonly counts: Counts;
  readonly where: string;
}

/** One group's answer: three ways of reading the same feet. */
export interface GroupReturn {
  readonly level: string;
  readonly where: string;
  readonly nHorses: number;
  readonly nFeet: number;
  readonly nSpells: number;
  readonly nLooks: number;
  readonly bands: Outcome<TurnbullBands>;
  readonly visitDate: Outcome<KaplanMeierFit>;
  /** Null where it is not asked. */
  readonly steady: Outcome<SteadyReturn> | null;
}

/** The same while its bands are still to be drawn. */
export interface GroupBegun extends Omit<GroupReturn, 'bands'> {
  readonly begun: Outcome<BandsBegun>;
}

/** Rates of return of the levels over that of the commonest: Weibull regression. */
export interface ReturnRatios {
  readonly reference: string;
  /** Levels in the order of the fit's columns, before any was set apart. */
  readonly levels: readonly string[];
  readonly fit: WeibullFit;
  readonly countsOf: ReadonlyMap<string, Counts & { readonly spells: number }>;
}

/** Share returned by a day at a steady rate, with its interval. */
export function steadyShare({ rate }: SteadyReturn, days: number): Estimate {
  const share = (perYear: number): number => -Math.expm1((-perYear * days) / 365.25);
  return {
    estimate: share(rate.estimate),
    stdError: null,
    low: share(rate.low),
    high: share(rate.high),
  };
}

export const spellsTitle = (problem: ProblemKey, level: string): string =>
  `clear spells after ${problemLabel(problem)}, ${level === 'all' ? 'all horses' : level}`;

export const pairsTitle = (problem: ProblemKey, level: string): string =>
  `trim cycles of feet that have had ${problemLabel(problem)}, ${level === 'all' ? 'all horses' : level}`;
