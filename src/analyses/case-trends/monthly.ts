import { isUnavailable } from '../../core/outcome.ts';
import { clusteredShare } from '../../stats/design-effect.ts';
import { dispersedInterval, dispersionOf } from '../../stats/poisson.ts';
import { inOrder } from '../foot-order.ts';
import type { Looks } from './data.ts';
import type { Months } from './months.ts';

/** Sums by level and month: arrays of levels × months, months of a level together. */
export interface MonthSums {
  /** New cases by both ways of dating. */
  readonly spread: Float64Array;
  readonly byVisit: Float64Array;
  /** Days that feet were clear, as far as is known. */
  readonly clearDays: Float64Array;
  readonly horses: Float64Array;
  readonly feet: Float64Array;
  readonly looks: Float64Array;
}

/**
 * Spreads each case that is new at a visit over the days since the visit before: the same share to each day, and the
 * foot clear until then, as a day drawn by lot among them would have it.
 */
export function monthSums(looks: Looks, months: Months): MonthSums {
  const size = looks.levels.length * months.count;
  const sums = {
    spread: new Float64Array(size),
    byVisit: new Float64Array(size),
    clearDays: new Float64Array(size),
    horses: new Float64Array(size),
    feet: new Float64Array(size),
    looks: new Float64Array(size),
  };
  const lastHorse = new Int32Array(size).fill(-1);
  const lastFoot = new Int32Array(size).fill(-1);
  for (let i = 0; i < looks.from.length; i += 1) {
    if (looks.level[i]! < 0) continue;
    const [from, to] = [looks.from[i]!, looks.to[i]!];
    const base = looks.level[i]! * months.count;
    const isNew = looks.before[i] === 0 && looks.after[i] === 1;
    const last = months.at(to);
    if (isNew) sums.byVisit[base + last]! += 1;
    for (let month = months.at(from); month <= last; month += 1) {
      const at = base + month;
      sums.looks[at]! += 1;
      if (lastHorse[at] !== looks.horse[i]) sums.horses[at]! += 1;
      if (lastFoot[at] !== looks.foot[i]) sums.feet[at]! += 1;
      lastHorse[at] = looks.horse[i]!;
      lastFoot[at] = looks.foot[i]!;
      const part = clearPart(looks, i, months.starts[month]!, months.starts[month + 1]!);
      if (!part) continue;
      sums.spread[at]! += part.cases;
      sums.clearDays[at]! += part.days;
    }
  }
  return sums;
}

/** Of one look the share of a new case, and the days clear, that fall between two days; null where none do. */
export function clearPart(
  looks: Looks,
  i: number,
  first: number,
  end: number,
): { readonly cases: number; readonly days: number } | null {
  if (looks.before[i] === 1) return null;
  // Days of the interval, from a to b of d; the visit's own day is its last.
  const d = looks.to[i]! - looks.from[i]!;
  const a = Math.max(0, first - 1 - looks.from[i]!);
  const b = Math.min(d, end - 1 - looks.from[i]!);
  if (b <= a) return null;
  return looks.after[i] === 1
    ? { cases: (b - a) / d, days: b - a - (b * b - a * a) / (2 * d) }
    : { cases: 0, days: b - a };
}

/**
 * How much more new cases vary than chance, for the feet of one horse are alike: over horses and months, cases seen
 * against the month's own share among the looks at clear feet.
 */
export function trendDispersion(
  looks: Looks,
  months: Months,
  groups: HorseMonths = horseMonths(looks, months),
): number {
  const cases = new Float64Array(months.count);
  const risks = new Float64Array(months.count);
  const { month, atRisk } = groups;
  for (let g = 0; g < month.length; g += 1) {
    cases[month[g]!]! += groups.cases[g]!;
    risks[month[g]!]! += atRisk[g]!;
  }
  const used = risks.filter((n) => n > 0).length;
  const expected = new Float64Array(month.length);
  for (let g = 0; g < month.length; g += 1)
    expected[g] = (atRisk[g]! * cases[month[g]!]!) / risks[month[g]!]!;
  return dispersionOf(groups.cases, expected, used);
}

/** Looks at clear feet, and new cases among them, of each horse in each month in which it was seen. */
export interface HorseMonths {
  readonly horse: Int32Array;
  readonly month: Int32Array;
  readonly atRisk: Float64Array;
  readonly cases: Float64Array;
  /** Of each look, its group; −1 where the foot was a case already. */
  readonly of: Int32Array;
}

export function horseMonths(looks: Looks, months: Months): HorseMonths {
  const n = looks.from.length;
  const horse = new Int32Array(n);
  const month = new Int32Array(n);
  const atRisk = new Float64Array(n);
  const cases = new Float64Array(n);
  const of = new Int32Array(n).fill(-1);
  // Looks come horse after horse: of each month its latest group, which may be of a horse before.
  const latest = new Int32Array(months.count).fill(-1);
  let count = 0;
  for (let i = 0; i < n; i += 1) {
    if (looks.before[i] === 1) continue;
    const at = months.at(looks.to[i]!);
    let group = latest[at]!;
    if (group < 0 || horse[group] !== looks.horse[i]) {
      group = count++;
      latest[at] = group;
      horse[group] = looks.horse[i]!;
      month[group] = at;
    }
    of[i] = group;
    atRisk[group]! += 1;
    cases[group]! += looks.after[i]!;
  }
  return {
    horse: horse.slice(0, count),
    month: month.slice(0, count),
    atRisk: atRisk.slice(0, count),
    cases: cases.slice(0, count),
    of,
  };
}

/** A share of feet with the problem at the end of a month, by what was last seen of each before it. */
export interface Standing {
  readonly level: number;
  readonly month: number;
  readonly feet: number;
  readonly horses: number;
  readonly affected: number;
  /** Null where one horse alone, or nothing to judge by. */
  readonly share: { readonly estimate: number; readonly low: number; readonly high: number } | null;
}

/** Feet seen both before and after the end of a month, each as it was last seen before it. */
export function standingCases(looks: Looks, months: Months): Standing[] {
  const size = looks.levels.length * months.count;
  const { starts, look } = looksAcross(looks, months, size);
  const out: Standing[] = [];
  for (let at = 0; at < size; at += 1) {
    const rows = look.subarray(starts[at]!, starts[at + 1]!);
    if (rows.length === 0) continue;
    const success = inOrder(looks.before, rows);
    const share = clusteredShare({ success, cluster: inOrder(looks.horse, rows) });
    let affected = 0;
    for (let i = 0; i < success.length; i += 1) affected += success[i]!;
    out.push({
      level: Math.floor(at / months.count),
      month: at % months.count,
      feet: rows.length,
      // What cannot be judged here is of one horse.
      horses: isUnavailable(share) ? 1 : share.nClusters,
      affected,
      share: isUnavailable(share) ? null : { estimate: share.estimate, low: share.low, high: share.high },
    });
  }
  return out;
}

/**
 * Looks that reach across the end of each month, from starts[at] up to starts[at + 1] for month and level `at`. The end of
 * month m is the day before the next begins: seen on or before it, and again after it.
 */
function looksAcross(
  looks: Looks,
  months: Months,
  size: number,
): { readonly starts: Int32Array; readonly look: Int32Array } {
  const n = looks.from.length;
  const starts = new Int32Array(size + 1);
  const first = new Int32Array(n);
  const end = new Int32Array(n);
  for (let i = 0; i < n; i += 1) {
    if (looks.level[i]! < 0) continue;
    const base = looks.level[i]! * months.count;
    first[i] = base + months.at(looks.from[i]!);
    end[i] = base + months.at(looks.to[i]!);
    for (let at = first[i]!; at < end[i]!; at += 1) starts[at + 1]! += 1;
  }
  for (let at = 0; at < size; at += 1) starts[at + 1]! += starts[at]!;
  const next = starts.slice(0, size);
  const look = new Int32Array(starts[size]!);
  for (let i = 0; i < n; i += 1) {
    for (let at = first[i]!; at < end[i]!; at += 1) {
      look[next[at]!] = i;
      next[at]! += 1;
    }
  }
  return { starts, look };
}

/** Days of a mean month. */
const MONTH_DAYS = 30.4375;

export interface Rate {
  readonly cases: number;
  readonly casesLow: number;
  readonly casesHigh: number;
  /** New cases per 100 feet clear for a month. */
  readonly estimate: number;
  readonly low: number;
  readonly high: number;
}

/** Null where no foot was clear. */
export function rateOf(cases: number, clearDays: number, dispersion: number): Rate | null {
  if (!(clearDays > 0)) return null;
  const { low, high } = dispersedInterval(cases, dispersion);
  const per = (100 * MONTH_DAYS) / clearDays;
  return { cases, casesLow: low, casesHigh: high, estimate: cases * per, low: low * per, high: high * per };
}
