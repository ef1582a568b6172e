import { isUnavailable, type Outcome, unavailable } from '../../core/outcome.ts';
import type { ChangeScan } from '../../stats/change-scan.ts';
import { countLimits, cusumLimit, cusumPath } from '../../stats/cusum.ts';
import { type FactorRisk, factorRisk } from '../../stats/factor-risk.ts';
import { dispersionOf } from '../../stats/poisson.ts';
import type { Apart } from '../apart.ts';
import { LONGEST_GAP, type Looks } from './data.ts';
import type { HorseMonths } from './monthly.ts';
import type { Months } from './months.ts';
import type { TrendOptions } from './options.ts';

/** Months before those watched that it takes to know what to expect; with season from the second on. */
const FEWEST_MONTHS = 12;
const SEASON_MONTHS = 18;
const FEWEST_CASES = 10;

/** One month: cases first seen in it at visits, against those expected of the same looks. */
interface ChartMonth {
  readonly month: number;
  readonly observed: number;
  readonly expected: number;
  readonly low: number;
  readonly high: number;
  readonly isWatched: boolean;
  readonly isOutside: boolean;
}

interface Chart {
  readonly months: readonly ChartMonth[];
  /** The running sum over the watched months, and where it passed. */
  readonly sum: readonly { readonly month: number; readonly value: number; readonly passed: boolean }[];
  readonly limit: number;
  /** Chance that the sum passes its limit within the months watched if nothing had changed. */
  readonly falseShare: number;
  /** Records simulated to learn it. */
  readonly runs: number;
  /** Months between false alarms, on average: of the sum, and of one month outside its limits; infinite where there was none. */
  readonly sumFalseAlarm: number;
  readonly monthFalseAlarm: number;
  readonly dispersion: number;
  readonly hasSeason: boolean;
}

export interface Signals {
  readonly chart: Outcome<Chart>;
  readonly scan: Outcome<ChangeScan>;
}

interface Patterns {
  readonly of: Int32Array;
  readonly days: readonly number[];
  readonly cos: readonly number[];
  readonly sin: readonly number[];
}

/** The scan is made by `apart`, while others of its months are reckoned here. */
export async function signalsOf(
  looks: Looks,
  months: Months,
  options: TrendOptions,
  groups: HorseMonths,
  apart: Apart,
): Promise<Signals> {
  const patterns = patternsOf(looks, months);
  const scan = scanOf(looks, months, groups, patterns, apart);
  const chart = chartOf(looks, months, groups, patterns, options);
  return { chart, scan: await scan };
}

/** Looks at clear feet that are alike in days and in the month of the year at their middle. */
function patternsOf(looks: Looks, months: Months): Patterns {
  const of = new Int32Array(looks.from.length).fill(-1);
  // By days, a year at most, and month.
  const numberOf = new Int32Array(12 * (LONGEST_GAP + 1)).fill(-1);
  const days: number[] = [];
  const cos: number[] = [];
  const sin: number[] = [];
  for (let i = 0; i < looks.from.length; i += 1) {
    if (looks.before[i] === 1) continue;
    const d = looks.to[i]! - looks.from[i]!;
    const middle = months.at(Math.floor((looks.from[i]! + looks.to[i]!) / 2));
    const key = d * 12 + months.ofYear[middle]!;
    let pattern = numberOf[key]!;
    if (pattern < 0) {
      pattern = days.length;
      numberOf[key] = pattern;
      const turn = (2 * Math.PI * (months.ofYear[middle]! + 0.5)) / 12;
      days.push(Math.log(d / 42));
      cos.push(Math.cos(turn));
      sin.push(Math.sin(turn));
    }
    of[i] = pattern;
  }
  return { of, days, cos, sin };
}

/** The risk of each pattern, from looks whose later visit lies in months below `end`. */
function riskBefore(
  looks: Looks,
  months: Months,
  patterns: Patterns,
  end: number,
  hasSeason: boolean,
): Outcome<FactorRisk> {
  const trials = new Float64Array(patterns.days.length);
  const events = new Float64Array(patterns.days.length);
  let cases = 0;
  for (let i = 0; i < looks.from.length; i += 1) {
    const pattern = patterns.of[i]!;
    if (pattern < 0 || months.at(looks.to[i]!) >= end) continue;
    trials[pattern]! += 1;
    events[pattern]! += looks.after[i]!;
    cases += looks.after[i]!;
  }
  if (cases < FEWEST_CASES) {
    return unavailable('no-events', 'too few new cases are on record to know what to expect of a month.');
  }
  const used = patterns.days.filter((_, pattern) => trials[pattern]! > 0);
  const daysVary = used.some((d) => d !== used[0]);
  return factorRisk({
    trials,
    events,
    factors: [],
    covariates: [...(daysVary ? [patterns.days] : []), ...(hasSeason ? [patterns.cos, patterns.sin] : [])],
  });
}

function chartOf(
  looks: Looks,
  months: Months,
  groups: HorseMonths,
  patterns: Patterns,
  { watch, rise, false_alarm }: TrendOptions,
): Outcome<Chart> {
  const from = months.count - watch;
  if (from < FEWEST_MONTHS) {
    return unavailable(
      'no-rows',
      `a control chart needs a year of records before the ${watch} months that it watches, to know what to expect of them.`,
    );
  }
  const hasSeason = from >= SEASON_MONTHS;
  const fit = riskBefore(looks, months, patterns, from, hasSeason);
  if (isUnavailable(fit)) return fit;
  const expected = expectedByGroup(groups, patterns, fit.risk);
  const isBefore = Array.from(groups.month, (month) => month < from);
  const dispersion = dispersionOf(
    groups.cases.filter((_, g) => isBefore[g]),
    expected.filter((_, g) => isBefore[g]),
    fit.parameters,
  );
  const among = looksByMonth(looks, months, patterns);
  const observed = new Float64Array(months.count);
  groups.month.forEach((month, g) => {
    observed[month]! += groups.cases[g]!;
  });
  let alarms = 0;
  const shown: ChartMonth[] = [];
  for (let month = 0; month < months.count; month += 1) {
    const { expected: e, variance } = fit.expectedAmong(among[month]!);
    if (!(e > 0)) continue;
    // What is expected of a month was itself reckoned from the months before.
    const wide = dispersion * (1 + (month < from ? 0 : variance / e));
    const { low, high, falseAlarm } = countLimits(e, 0.998, wide);
    const isWatched = month >= from;
    if (isWatched) alarms += falseAlarm;
    const isOutside = observed[month]! > high || observed[month]! < low;
    shown.push({ month, observed: observed[month]!, expected: e, low, high, isWatched, isOutside });
  }
  const watched = shown.filter(({ isWatched }) => isWatched);
  if (watched.length === 0) {
    return unavailable('no-rows', 'no clear foot was graded again in the months to be watched.');
  }
  const worth = watched.map((m) => m.expected / dispersion);
  const all = fit.expectedAmong(sumOf(watched.map(({ month }) => among[month]!)));
  const alarm = cusumLimit(worth, rise, false_alarm, {
    levelError: Math.sqrt(dispersion * all.variance) / all.expected,
  });
  const { path, passed } = cusumPath(
    watched.map((m) => m.observed / dispersion),
    worth,
    rise,
    alarm.limit,
  );
  return {
    months: shown,
    sum: watched.map(({ month }, at) => ({ month, value: path[at]!, passed: passed[at] === 1 })),
    limit: alarm.limit,
    falseShare: alarm.share,
    runs: alarm.runs,
    sumFalseAlarm: alarm.steps,
    monthFalseAlarm: watched.length / alarms,
    dispersion,
    hasSeason,
  };
}

function sumOf(arrays: readonly Float64Array[]): Float64Array {
  const out = new Float64Array(arrays[0]?.length ?? 0);
  for (const values of arrays) {
    for (let i = 0; i < out.length; i += 1) out[i]! += values[i]!;
  }
  return out;
}

async function scanOf(
  looks: Looks,
  months: Months,
  groups: HorseMonths,
  patterns: Patterns,
  apart: Apart,
): Promise<Outcome<ChangeScan>> {
  if (months.count < FEWEST_MONTHS) {
    return unavailable('no-rows', 'less than a year is on record, too little to look for a lasting change.');
  }
  const fit = riskBefore(looks, months, patterns, months.count, months.count >= SEASON_MONTHS);
  if (isUnavailable(fit)) return fit;
  return apart('change scan', {
    cluster: groups.horse,
    month: groups.month,
    observed: groups.cases,
    expected: expectedByGroup(groups, patterns, fit.risk),
    months: months.count,
  });
}

function expectedByGroup(groups: HorseMonths, patterns: Patterns, risk: Float64Array): Float64Array {
  const expected = new Float64Array(groups.horse.length);
  for (let i = 0; i < groups.of.length; i += 1) {
    const group = groups.of[i]!;
    if (group >= 0) expected[group]! += risk[patterns.of[i]!]!;
  }
  return expected;
}

/** Of each month, how many looks of each pattern ended in it. */
function looksByMonth(looks: Looks, months: Months, patterns: Patterns): Float64Array[] {
  const out = Array.from({ length: months.count }, () => new Float64Array(patterns.days.length));
  for (let i = 0; i < looks.from.length; i += 1) {
    if (patterns.of[i]! >= 0) out[months.at(looks.to[i]!)]![patterns.of[i]!]! += 1;
  }
  return out;
}
