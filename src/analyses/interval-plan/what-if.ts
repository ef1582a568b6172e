import { type CivilDay, YEAR_DAYS } from '../../core/civil-day.ts';
import { type Estimate, isUnavailable, type Outcome, type Unavailable } from '../../core/outcome.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { GainingUnits, GainPlan, GainsPast } from '../../stats/gains-past.ts';
import type { onsetRates } from '../../stats/reset-cycle.ts';
import type { AskContext } from '../analysis.ts';
import { made } from '../apart.ts';
import type { Counts } from '../format.ts';
import type { GrowthForecast } from '../growth/forecast.ts';
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

/** Weighed by whichever thread is free: this one mostly has something else to do meanwhile. */
export async function whatIf(given: WhatIfGiven, context: Pick<AskContext, 'apart'>): Promise<WhatIfAnswer> {
  const { base, options, models } = given;
  if (base.length === 0) return { rows: [], refused: [] };
  const apart = context.apart ?? made(async () => undefined);
  const plans = scenarios(options);
  const feet = plans.map((plan) => feetAlike(base, plan.daysOf));
  const growing = growthInput(given, plans);
  const [grown, ...weighed] = await Promise.all([
    growing && apart('gains past', growing),
    ...models.map((model) =>
      apart('onset rates', { fit: model.fit, plans: cyclePlans(model, feet), against: 0 }),
    ),
  ]);
  const rows = plans.flatMap((scenario, k) => [
    visits(scenario, given),
    ...(grown ? growthAtVisits(scenario, given, grown[k]!) : []),
  ]);
  const refused: Unavailable[] = [];
  for (const [k, told] of weighed.entries()) {
    const found = onsets(models[k]!, plans, told);
    if (isUnavailable(found)) refused.push(found);
    else rows.push(...found);
  }
  return { rows, refused };
}

const NO_INTERVAL = { stdError: null, low: null, high: null, change: null };

/** `feetOf`: how many feet of each horse count. */
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

/** What growth at the visits is worked out from; null where growth ahead cannot be told of any foot. */
interface GrowthInput {
  /** mm a day from today over `ASKED_DAYS`, of every foot with a forecast; by horse. */
  readonly units: GainingUnits;
  readonly plans: readonly GainPlan[];
  readonly limit: number;
}

/**
 * Every foot is asked once: a herd of many is weighed under several plans. Season is the same for every foot, so that one
 * tells how far another start and length of interval lie from the one asked for.
 */
function growthInput(
  { base, growth, today, options }: WhatIfGiven,
  plans: readonly Scenario[],
): GrowthInput | null {
  if (isUnavailable(growth)) return null;
  const n = base.reduce((sum, { toes }) => sum + toes.length, 0);
  const one = base.find(({ toes }) => toes.length > 0)?.toes[0]?.forecast;
  if (!one) return null;
  const units = {
    rate: new Float64Array(n),
    sd: new Float64Array(n),
    degrees: new Float64Array(n),
    cluster: new Int32Array(n),
  };
  let at = 0;
  for (const [place, { toes }] of base.entries()) {
    for (const { forecast } of toes) {
      const { mm, sd, degrees } = forecast.regrowth(today, ASKED_DAYS);
      units.rate[at] = mm / ASKED_DAYS;
      units.sd[at] = sd / ASKED_DAYS;
      units.degrees[at] = degrees;
      units.cluster[at++] = place;
    }
  }
  const rate = one.regrowth(today, ASKED_DAYS).mm / ASKED_DAYS;
  const known = new Map<number, number[]>();
  /** mm a day that each start adds to the rate asked for. */
  const shiftsAt = (days: number): number[] => {
    let found = known.get(days);
    if (!found) {
      found = STARTS.map((start) => one.regrowth((today + start) as CivilDay, days).mm / days - rate);
      known.set(days, found);
    }
    return found;
  };
  return {
    units,
    plans: plans.map(({ daysOf }) => {
      const days = base.map(daysOf);
      const time = new Float64Array(n);
      for (let i = 0; i < n; i++) time[i] = days[units.cluster[i]!]!;
      return { time, shifts: new Map([...new Set(days)].map((d) => [d, shiftsAt(d)])) };
    }),
    limit: options.tolerance_mm,
  };
}

/** Mean expected regrowth at the visit, and expected share of feet past the tolerance, over a year. */
function growthAtVisits(
  { label }: Scenario,
  { base, baseWhere }: WhatIfGiven,
  { mean, share }: GainsPast,
): WhatIf[] {
  const common = {
    scenario: label,
    change: null,
    counts: countsOf(base, ({ toes }) => toes.length),
    where: baseWhere,
  };
  const told: WhatIf[] = [];
  if (!isUnavailable(mean)) told.push({ ...common, measure: 'regrowth', ...mean });
  if (!isUnavailable(share)) told.push({ ...common, measure: 'past', ...share });
  return told;
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
