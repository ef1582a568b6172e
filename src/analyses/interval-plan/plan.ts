import { isUnavailable, type Outcome } from '../../core/outcome.ts';
import { problemLabel } from '../../herd/problems.ts';
import { studentQuantile } from '../../stats/distributions.ts';
import type { FootForecast, GrowthForecast } from '../growth/forecast.ts';
import type { FootNow, HorseNow } from './data.ts';
import {
  type LimitDays,
  longestWithin,
  longestWithinRising,
  type PlannedInterval,
  plannedInterval,
} from './kernel.ts';
import { PLANNED_PROBLEMS, type PlannedProblem, type PlanOptions, riskLimit } from './options.ts';
import type { RiskAhead, RiskDays } from './risk.ts';

export type LimitKey = 'toe' | PlannedProblem;

/** What is expected on a day, and what it stays at or below with the confidence asked for. */
interface Ahead {
  readonly expected: number;
  readonly bound: number;
}

/** One limit of one foot. */
export interface FootLimit extends LimitDays<LimitKey> {
  readonly foot: FootNow;
  at(day: number): Ahead;
}

/** That of its toe, with the forecast that it follows from. */
interface ToeLimit extends FootLimit {
  readonly forecast: FootForecast;
}

export interface HorsePlan extends PlannedInterval<FootLimit> {
  readonly horse: HorseNow;
  /** Of every foot with a forecast of its growth. */
  readonly toes: readonly ToeLimit[];
  /** One a problem: the clear foot that reaches it first. */
  readonly risks: readonly FootLimit[];
  /** Limits that could not be told of this horse, each with its reason in a few words. */
  readonly untold: readonly string[];
}

/** The models that a plan is made from; a problem without one has no limit. */
export interface PlanModels {
  readonly growth: Outcome<GrowthForecast>;
  readonly risks: ReadonlyMap<PlannedProblem, RiskAhead>;
}

/** Whole days of the least and most weeks allowed. */
export function allowedDays(options: PlanOptions): { least: number; most: number } {
  return { least: Math.round(options.least_weeks * 7), most: Math.round(options.most_weeks * 7) };
}

/** Plans horse by horse; null for a horse of which no limit can be told. */
export function planner(
  options: PlanOptions,
  { growth, risks }: PlanModels,
): (horse: HorseNow) => HorsePlan | null {
  const { least, most } = allowedDays(options);
  const reach = oneSidedMultiplier(options.confidence);
  const riskLimits = PLANNED_PROBLEMS.flatMap((problem) => {
    const daysAhead = risks.get(problem);
    return daysAhead ? [riskOfHorses(problem, daysAhead, riskLimit(options, problem), most)] : [];
  });
  return (horse) => {
    const untold: string[] = [];
    const toes = horse.feet.flatMap((foot) => {
      const forecast = isUnavailable(growth) ? null : growth.foot(foot.key);
      return forecast ? [toeLimit(foot, forecast, horse, options.tolerance_mm, most, reach)] : [];
    });
    if (toes.length === 0) untold.push('toe growth ahead cannot be told');
    const found = riskLimits.flatMap((limitOf) => {
      const limit = limitOf(horse);
      if (typeof limit !== 'string') return [limit];
      untold.push(limit);
      return [];
    });
    const plan = plannedInterval([...toes, ...found], least, most);
    return plan && { ...plan, horse, toes, risks: found, untold };
  };
}

/**
 * Regrowth since the last trim, and the limit under which the true regrowth stays with the confidence asked for:
 * Student's t on the forecast's own degrees of freedom. The error of a reading is not in it: the foot is what grows.
 */
function toeLimit(
  foot: FootNow,
  forecast: FootForecast,
  { lastVisit }: HorseNow,
  toleranceMm: number,
  mostDays: number,
  reach: (degrees: number) => number,
): ToeLimit {
  const at = (day: number): Ahead => {
    const { mm, sd, degrees } = forecast.regrowth(lastVisit, day);
    return { expected: mm, bound: mm + reach(degrees) * sd };
  };
  return {
    ...longestWithinRising('toe' as const, (day) => at(day).bound, toleranceMm, mostDays),
    foot,
    at,
    forecast,
  };
}

/** Of a horse's clear feet the one that reaches the limit first; words where none is clear, or none can be told. */
function riskOfHorses(
  problem: PlannedProblem,
  daysAhead: RiskAhead,
  limit: number,
  mostDays: number,
): (horse: HorseNow) => FootLimit | string {
  const label = problemLabel(problem);
  // Feet on the same ground that were trimmed on one day share theirs.
  const known = new Map<RiskDays, LimitDays<PlannedProblem>>();
  const longest = (days: RiskDays): LimitDays<PlannedProblem> => {
    let found = known.get(days);
    if (!found) {
      found = longestWithin(problem, days.upper, limit, mostDays);
      known.set(days, found);
    }
    return found;
  };
  return (horse) => {
    const clear = horse.feet.filter((foot) => foot.state[problem] === 0);
    if (clear.length === 0) {
      return horse.feet.some((foot) => foot.state[problem] === 1)
        ? `no foot is clear of ${label}`
        : `${label} was not graded`;
    }
    let first: FootLimit | null = null;
    let why = '';
    let alike: FootNow['groups'] | null = null;
    for (const foot of clear) {
      // The feet of a horse mostly share theirs, and so what can be told.
      if (foot.groups === alike) continue;
      alike = foot.groups;
      const days = daysAhead(foot, horse.lastVisit);
      if (days === null || isUnavailable(days)) {
        why =
          days === null
            ? 'breed type, ground, moisture or season is not recorded'
            : 'too few cases on such ground';
        continue;
      }
      const found = longest(days);
      if (first && found.days >= first.days) continue;
      first = { ...found, foot, at: (day) => ({ expected: days.risk(day), bound: days.upper(day) }) };
    }
    return first ?? `risk of ${label} cannot be told: ${why}`;
  };
}

/** Student's one-sided multiplier, worked out once for each whole number of degrees (rounded down: the wider). */
function oneSidedMultiplier(confidence: number): (degrees: number) => number {
  const known = new Map<number, number>();
  return (degrees) => {
    const whole = Math.max(1, Math.floor(Math.min(degrees, 10_000)));
    let found = known.get(whole);
    if (found === undefined) {
      found = studentQuantile(confidence, whole);
      known.set(whole, found);
    }
    return found;
  };
}
