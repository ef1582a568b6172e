import { isUnavailable, type Outcome } from '../../core/outcome.ts';
import { collapseRows } from '../../stats/cells.ts';
import type { BinaryFit } from '../../stats/cloglog.ts';
import type { ResetFit } from '../../stats/onset-since-reset.ts';
import { type ResetMix, type RiskCurve, riskCurve } from '../../stats/standardise.ts';
import { splitWithinBetween } from '../../stats/within-between.ts';
import { levelPart, mixedCode } from '../alike-rows.ts';
import type { Apart } from '../apart.ts';
import {
  type DesignColumns,
  designMatrix,
  levelColumns,
  sideBySide,
  throughRows,
} from '../design-columns.ts';
import { inOrder } from '../foot-order.ts';
import { onsetCells } from '../onset-cells.ts';
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
const REFERENCE_DAYS = 42;

/** Cycles of one horse that no comparison can tell apart, as one row that counts so often: arrays of length n. */
interface AlikeCycles {
  /** One of the cycles that each row stands for. */
  readonly rows: Int32Array;
  readonly weight: Float64Array;
  readonly start: Uint8Array;
  readonly end: Uint8Array;
  readonly days: Float64Array;
  readonly horse: Int32Array;
  /** What tells levels of all groups apart. */
  readonly groups: readonly (Float64Array | Int32Array)[];
}

export function alikeCycles(rows: IntervalRows): AlikeCycles {
  const groups = groupCodes(rows);
  const { pairRow, pairCount } = collapseRows([statesOf(rows), rows.days, ...groups], rows.horse);
  return {
    rows: pairRow,
    weight: pairCount,
    start: inOrder(rows.start, pairRow),
    end: inOrder(rows.end, pairRow),
    days: inOrder(rows.days, pairRow),
    horse: inOrder(rows.horse, pairRow),
    groups: groups.map((codes) => inOrder(codes, pairRow)),
  };
}

/** What tells both states apart. */
export function statesOf({ start, end }: Pick<IntervalRows, 'start' | 'end'>): Float64Array {
  const states = new Float64Array(start.length);
  for (let row = 0; row < states.length; row++) states[row] = 2 * start[row]! + end[row]!;
  return states;
}

/** What tells the levels of all groups apart: one column where there are not too many. */
export function groupCodes({ groups, days }: IntervalRows): readonly (Float64Array | Int32Array)[] {
  if (groups.size === 0) return [];
  const all = [...groups.values()];
  const one = mixedCode(all.map(levelPart), days.length);
  return one ? [one] : all.map(({ codes }) => codes);
}

/** A comparison under way: what the next one begins from is there first. */
interface ComparisonBegun {
  readonly fit: Promise<Outcome<ResetFit>>;
  readonly whole: Promise<ComparisonFit>;
}

/**
 * Fits one comparison, by `apart`. Days are those of the cycle; `times` in days for the risk curve; `alike` are
 * `alikeCycles`. `before` is the fit of the comparison made before it, with fewer terms: the search begins where that one
 * ended. Cells are made meanwhile.
 */
export function fitComparison(
  rows: IntervalRows,
  comparison: Comparison,
  times: readonly number[],
  alike: AlikeCycles,
  apart: Apart,
  before?: Promise<Outcome<ResetFit>>,
): ComparisonBegun {
  let usual: Float64Array | null = null;
  let onset: DesignColumns = { names: ['clear foot, 6 weeks'], at: [() => 1] };
  if (comparison !== 'crude') {
    onset = sideBySide(
      onset,
      ...Array.from(rows.groups, ([grouping, coded]) => levelColumns(grouping, coded)),
    );
  }
  if (comparison === 'within-horse') {
    const logDays = rows.days.map((d) => Math.log(d / REFERENCE_DAYS));
    const clear = rows.start.map((s) => 1 - s);
    const split = splitWithinBetween(logDays, rows.horse, clear);
    if (isUnavailable(split)) {
      const whole = { comparison, fit: split, risk: split, check: split, checkColumn: 0 };
      return { fit: Promise.resolve(split), whole: Promise.resolve(whole) };
    }
    usual = split.between;
    // With the horse's usual interval held, the exponent compares each interval with that horse's own mean.
    onset = sideBySide(onset, {
      names: ['the horse’s usual interval'],
      at: [(row) => split.between[row]!],
    });
  }
  const { weight, groups, days, end } = alike;
  const held = comparison === 'crude' ? [] : groups;
  // The usual interval is one of each horse.
  const data = onsetCells(
    alike,
    [statesOf(alike), days, ...held, ...(usual ? [alike.horse] : [])],
    throughRows(onset, alike.rows),
    weight,
  );
  const fit = before
    ? before.then((found) => apart('onset since reset', { data, near: nearOf(found) }))
    : apart('onset since reset', { data });
  const atRisk = weight.map((of, row) => (alike.start[row] === 0 ? of : 0));
  const covariates = [...held, ...(usual ? [inOrder(usual, alike.rows)] : [])];
  const timed = sideBySide(onset, {
    names: ['log days'],
    at: [(row) => Math.log(rows.days[row]! / REFERENCE_DAYS)],
  });
  const checked = collapseRows([end, days, ...covariates], alike.horse, atRisk);
  const check = apart('binary regression', {
    cells: checked,
    event: Float64Array.from(checked.firstRow, (row) => end[row]!),
    x: designMatrix(throughRows(timed, alike.rows), checked.firstRow),
    terms: timed.names,
  });
  const mixed = collapseRows(covariates, new Int32Array(weight.length), atRisk);
  const mix = {
    onset: designMatrix(throughRows(onset, alike.rows), mixed.firstRow),
    clearing: new Float64Array(mixed.nCells).fill(1),
    weight: mixed.count,
  };
  const risk = fit.then((found) => riskOf(found, mix, times, apart));
  const whole = Promise.all([fit, risk, check]).then(([fitted, curve, beside]) => ({
    comparison,
    fit: fitted,
    risk: curve,
    check: beside,
    checkColumn: timed.names.length - 1,
  }));
  // Whoever waits for it is told; nobody does once another comparison has failed.
  whole.catch(() => undefined);
  return { fit, whole };
}

function nearOf(before: Outcome<ResetFit>): Pick<ResetFit, 'terms' | 'theta' | 'limits'> | undefined {
  return isUnavailable(before)
    ? undefined
    : { terms: before.terms, theta: before.theta, limits: before.limits };
}

/** Averaged over the mix in two stretches of the times, one for each thread. */
async function riskOf(
  fit: Outcome<ResetFit>,
  mix: ResetMix,
  times: readonly number[],
  apart: Apart,
): Promise<Outcome<RiskCurve>> {
  if (isUnavailable(fit)) return fit;
  // Where the exponent was held, a risk curve would only draw the assumption.
  if (isUnavailable(fit.exponent)) return fit.exponent;
  const { onsetTerms, clearingTerms, theta, limits, referenceTime, yearTime } = fit;
  const needed = { onsetTerms, clearingTerms, theta, limits, referenceTime, yearTime };
  const half = Math.ceil(times.length / 2);
  const stretches = [times.slice(0, half), times.slice(half)].filter((some) => some.length > 0);
  const parts = await Promise.all(
    stretches.map((some) => apart('risk by time', { fit: needed, mix, times: some })),
  );
  const known = parts.flatMap((part) => (isUnavailable(part) ? [] : [part]));
  return known.length === parts.length ? riskCurve(fit, known) : parts.find(isUnavailable)!;
}
