import { isUnavailable, type Outcome } from '../../core/outcome.ts';
import { type BinaryFit, fitBinary } from '../../stats/cloglog.ts';
import { fitOnsetSinceReset, type ResetFit } from '../../stats/onset-since-reset.ts';
import { type RiskCurve, standardisedResetRisk } from '../../stats/standardise.ts';
import { splitWithinBetween } from '../../stats/within-between.ts';
import { groupingWords } from '../groups.ts';
import type { IntervalRows } from './data.ts';

/** Three ways of comparing long intervals with short ones. */
export const COMPARISONS = ['crude', 'adjusted', 'within-horse'] as const;
export type Comparison = (typeof COMPARISONS)[number];

export interface ComparisonFit {
  readonly comparison: Comparison;
  /** Exact two-state form, the clock set to 0 at each trim. */
  readonly fit: Outcome<ResetFit>;
  /** Risk of the problem at the next visit, averaged over the herd's own mix of cycles that began clear. */
  readonly risk: Outcome<RiskCurve>;
  /** The complementary log-log regression on log(days), beside it; its column of log(days). */
  readonly check: Outcome<BinaryFit>;
  readonly checkColumn: number;
}

/** Interval at which the onset term is the cumulative hazard: 6 weeks. */
export const REFERENCE_DAYS = 42;

interface Columns {
  readonly names: string[];
  readonly at: ((row: number) => number)[];
}

/** Levels against the commonest, for every grouping adjusted for. */
function groupColumns(rows: IntervalRows): Columns {
  const columns: Columns = { names: [], at: [] };
  for (const [grouping, { levels, codes }] of rows.groups) {
    const totals = new Float64Array(levels.length);
    for (const c of codes) totals[c]! += 1;
    const commonest = totals.indexOf(Math.max(...totals));
    levels.forEach((level, k) => {
      if (k === commonest) return;
      columns.names.push(`${groupingWords(grouping)} ${level}`);
      columns.at.push((row) => (codes[row] === k ? 1 : 0));
    });
  }
  return columns;
}

function design(n: number, { at }: Columns, keep: readonly number[] | null = null): Float64Array {
  const rows = keep ?? Array.from({ length: n }, (_, row) => row);
  const x = new Float64Array(rows.length * at.length);
  rows.forEach((row, i) => {
    for (let j = 0; j < at.length; j++) x[i * at.length + j] = at[j]!(row);
  });
  return x;
}

/** Fits one comparison. Days are those of the cycle; `times` in days for the risk curve. */
export function fitComparison(
  rows: IntervalRows,
  comparison: Comparison,
  times: readonly number[],
): ComparisonFit {
  const n = rows.days.length;
  const logDays = rows.days.map((d) => Math.log(d / REFERENCE_DAYS));
  const clear = rows.start.map((s) => 1 - s);
  const onset: Columns = { names: ['clear foot, 6 weeks'], at: [() => 1] };
  if (comparison !== 'crude') {
    const groups = groupColumns(rows);
    onset.names.push(...groups.names);
    onset.at.push(...groups.at);
  }
  if (comparison === 'within-horse') {
    const split = splitWithinBetween(logDays, rows.horse, clear);
    if (isUnavailable(split)) {
      return { comparison, fit: split, risk: split, check: split, checkColumn: 0 };
    }
    // With the horse's usual interval held, the exponent compares each interval with that horse's own mean.
    onset.names.push('the horse’s usual interval');
    onset.at.push((row) => split.between[row]!);
  }
  const x = design(n, onset);
  const ones = new Float64Array(n).fill(1);
  const fit = fitOnsetSinceReset({
    start: rows.start,
    end: rows.end,
    time: rows.days,
    onset: x,
    onsetTerms: onset.names,
    clearing: ones,
    clearingTerms: ['clearing'],
    cluster: rows.horse,
  });
  const atRisk = Array.from(rows.start.keys()).filter((row) => rows.start[row] === 0);
  const risk = isUnavailable(fit)
    ? fit
    : standardisedResetRisk(
        fit,
        { onset: design(n, onset, atRisk), clearing: new Float64Array(atRisk.length).fill(1) },
        times,
      );
  const timed: Columns = { names: [...onset.names, 'log days'], at: [...onset.at, (row) => logDays[row]!] };
  const check = fitBinary({
    event: atRisk.map((row) => rows.end[row]!),
    x: design(n, timed, atRisk),
    terms: timed.names,
    cluster: atRisk.map((row) => rows.horse[row]!),
  });
  return { comparison, fit, risk, check, checkColumn: timed.names.length - 1 };
}
