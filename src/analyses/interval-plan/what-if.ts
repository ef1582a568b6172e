import { type CivilDay, YEAR_DAYS } from '../../core/civil-day.ts';
import { type Estimate, isUnavailable, type Outcome, type Unavailable } from '../../core/outcome.ts';
import { problemLabel } from '../../herd/problems.ts';
import { clusteredRate } from '../../stats/clustered-rate.ts';
import { normalCdf, studentCdf } from '../../stats/distributions.ts';
import { onsetRates } from '../../stats/reset-cycle.ts';
import type { AskContext } from '../analysis.ts';
import type { Counts } from '../format.ts';
import type { FootForecast, GrowthForecast } from '../growth/forecast.ts';
import { isWideOpen, WIDE_OPEN } from '../two-state-words.ts';
import { cyclePlans, feetAlike } from './feet-alike.ts';
import type { PlannedProblem, PlanOptions } from './options.ts';
import type { HorsePlan } from './plan.ts';
import type { RiskModel } from './risk.ts';

/** Every horse seen at its own interval of this plan, in whole days. */
interface Scenario {
  readonly label: string;
  daysOf(plan: HorsePlan): number;
}

export const AS_NOW = 'as now';
const BY_PLAN = 'by the plan';

/** `as now` first: what the others are compared with. */
function scenarios({ weeks }: PlanOptions): Scenario[] {
  return [
    { label: AS_NOW, daysOf: ({ horse }) => horse.usualDays! },
    { label: BY_PLAN, daysOf: ({ days }) => days },
    ...[...new Set(weeks)]
      .sort((a, b) => a - b)
      .map(
        (week): Scenario => ({
          label: `${week} ${week === 1 ? 'week' : 'weeks'}`,
          daysOf: () => Math.round(week * 7),
        }),
      ),
  ];
}

export type Measure = 'visits' | 'regrowth' | 'past' | PlannedProblem;

/** One figure of one scenario. */
export interface WhatIf {
  readonly scenario: string;
  readonly measure: Measure;
  readonly estimate: number;
  readonly stdError: number | null;
  readonly low: number | null;
  readonly high: number | null;
  /** Less the same as now; null where it is sure, or is that of now. */
  readonly change: Estimate | null;
  readonly counts: Counts;
  /** SQL condition of the trim cycles it rests on. */
  readonly where: string;
}

interface WhatIfGiven {
  readonly options: PlanOptions;
  readonly today: CivilDay;
  /** Horses on the round with a plan and a usual interval. */
  readonly base: readonly HorsePlan[];
  readonly baseWhere: string;
  readonly growth: Outcome<GrowthForecast>;
  readonly models: readonly RiskModel[];
}

interface WhatIfAnswer {
  readonly rows: readonly WhatIf[];
  readonly refused: readonly Unavailable[];
}

/** Onsets are weighed by whichever thread is free, while this one weighs growth. */
export async function whatIf(
  given: WhatIfGiven,
  { apart }: Pick<AskContext, 'apart'>,
): Promise<WhatIfAnswer> {
  const { base, options, models } = given;
  if (base.length === 0) return { rows: [], refused: [] };
  const plans = scenarios(options);
  const feet = plans.map((plan) => feetAlike(base, plan.daysOf));
  const weighed = Promise.all(
    models.map((model) => {
      const input = { fit: model.fit, plans: cyclePlans(model, feet), against: 0 };
      return apart ? apart('onset rates', input) : onsetRates(input.fit, input.plans, input.against);
    }),
  );
  // Told below, where it is waited for.
  weighed.catch(() => undefined);
  const rates = footRates(given);
  const rows = plans.flatMap((scenario) => [
    visits(scenario, given),
    ...growthAtVisits(scenario, given, rates),
  ]);
  const refused: Unavailable[] = [];
  for (const [k, told] of (await weighed).entries()) {
    const found = onsets(models[k]!, plans, told);
    if (isUnavailable(found)) refused.push(found);
    else rows.push(...found);
  }
  return { rows, refused };
}

const NO_INTERVAL = { stdError: null, low: null, high: null, change: null };

function countsOf(base: readonly HorsePlan[], feetOf: (plan: HorsePlan) => number): Counts {
  return {
    horses: base.length,
    feet: base.reduce((sum, plan) => sum + feetOf(plan), 0),
    cycles: base.reduce((sum, { horse }) => sum + horse.nCycles, 0),
  };
}

/** Arithmetic: a mean year over each horse's days. */
function visits({ label, daysOf }: Scenario, { base, baseWhere }: WhatIfGiven): WhatIf {
  return {
    scenario: label,
    measure: 'visits',
    estimate: base.reduce((sum, plan) => sum + YEAR_DAYS / daysOf(plan), 0),
    ...NO_INTERVAL,
    counts: countsOf(base, ({ horse }) => horse.feet.length),
    where: baseWhere,
  };
}

/** Four starts a quarter of a year apart stand for the seasons. */
const STARTS = [0, 1, 2, 3].map((quarter) => Math.round((quarter * YEAR_DAYS) / 4));
/** Days over which a foot's own rate and its spread are asked for. */
const ASKED_DAYS = 42;

/** A foot's rate a day from today over `ASKED_DAYS`, with its spread. */
interface FootRate {
  readonly place: number;
  readonly rate: number;
  readonly sd: number;
  readonly degrees: number;
}

/** Every foot with a forecast, asked once: a herd of many feet is weighed under several plans. */
function footRates({ base, growth, today }: WhatIfGiven): { feet: FootRate[]; one: FootForecast | null } {
  if (isUnavailable(growth)) return { feet: [], one: null };
  let one: FootForecast | null = null;
  const feet = base.flatMap(({ toes }, place) =>
    toes.map(({ foot }): FootRate => {
      const forecast = growth.foot(foot.key)!;
      one ??= forecast;
      const { mm, sd, degrees } = forecast.regrowth(today, ASKED_DAYS);
      return { place, rate: mm / ASKED_DAYS, sd: sd / ASKED_DAYS, degrees };
    }),
  );
  return { feet, one };
}

/**
 * Mean expected regrowth at the visit, and expected share of feet past the tolerance, over a year; errors by horse, as
 * for horses such as these. Season is the same for every foot, so that one foot tells how far another start and length
 * of interval lie from the one asked for. A share keeps its interval within 0 and 1 by the logit scale.
 */
function growthAtVisits(
  { label, daysOf }: Scenario,
  given: WhatIfGiven,
  { feet, one }: ReturnType<typeof footRates>,
): WhatIf[] {
  const { base, baseWhere, options, today } = given;
  if (!one) return [];
  const known = new Map<number, number[]>();
  /** mm a day that each start adds to the rate asked for. */
  const shifts = (days: number): number[] => {
    let found = known.get(days);
    if (!found) {
      const rate = one.regrowth(today, ASKED_DAYS).mm / ASKED_DAYS;
      found = STARTS.map((start) => one.regrowth((today + start) as CivilDay, days).mm / days - rate);
      known.set(days, found);
    }
    return found;
  };
  const days = base.map(daysOf);
  const grown = new Float64Array(feet.length);
  const past = new Float64Array(feet.length);
  feet.forEach(({ place, rate, sd, degrees }, i) => {
    const d = days[place]!;
    for (const shift of shifts(d)) {
      const mm = d * (rate + shift);
      grown[i]! += mm / STARTS.length;
      past[i]! += beyond((options.tolerance_mm - mm) / (d * sd), degrees) / STARTS.length;
    }
  });
  const ones = new Float64Array(feet.length).fill(1);
  const cluster = Int32Array.from(feet, ({ place }) => place);
  const mean = clusteredRate(grown, ones, cluster);
  const share = clusteredRate(past, ones, cluster);
  const common = {
    scenario: label,
    change: null,
    counts: countsOf(base, ({ toes }) => toes.length),
    where: baseWhere,
  };
  const told: WhatIf[] = [];
  if (!isUnavailable(mean)) told.push({ ...common, measure: 'regrowth', ...mean });
  if (!isUnavailable(share)) told.push({ ...common, measure: 'past', ...onLogit(share) });
  return told;
}

const NEARLY_NORMAL = 200;

function beyond(z: number, degrees: number): number {
  return degrees > NEARLY_NORMAL ? normalCdf(-z) : studentCdf(-z, degrees);
}

function onLogit({ estimate, stdError, low, high }: Estimate): Estimate {
  const inner = estimate * (1 - estimate);
  if (!(inner > 0)) return { estimate, stdError, low: estimate, high: estimate };
  const reach = (high - low) / 2 / inner;
  const at = (shift: number): number => 1 / (1 + ((1 - estimate) / estimate) * Math.exp(-shift));
  return { estimate, stdError, low: at(-reach), high: at(reach) };
}

/** Onsets are told for so many feet. */
export const PER_FEET = 100;

/** Onsets a year in the long run, as in the season of each quarter by turns, ground and moisture held. */
function onsets(
  model: RiskModel,
  plans: readonly Scenario[],
  told: ReturnType<typeof onsetRates>,
): Outcome<WhatIf[]> {
  const rates = !isUnavailable(told) && told.rates.some(isWideOpen) ? WIDE_OPEN : told;
  if (isUnavailable(rates)) {
    return { ...rates, sentence: `new cases of ${problemLabel(model.problem)}: ${rates.sentence}` };
  }
  return plans.map(({ label }, i): WhatIf => {
    const [rate, change] = [per100(rates.rates[i]!), per100(rates.differences[i]!)];
    return {
      scenario: label,
      measure: model.problem,
      ...rate,
      change: i === 0 ? null : change,
      counts: model.counts,
      where: model.where,
    };
  });
}

function per100({ estimate, stdError, low, high }: Estimate): Estimate {
  return {
    estimate: estimate * PER_FEET,
    stdError: stdError === null ? null : stdError * PER_FEET,
    low: low * PER_FEET,
    high: high * PER_FEET,
  };
}
