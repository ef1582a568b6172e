import {
  type Estimate,
  isUnavailable,
  type Outcome,
  type Unavailable,
  unavailable,
} from '../core/outcome.ts';
import { numberAlike } from './alike.ts';
import { normalMultiplier } from './distributions.ts';
import { filledCells } from './filled-cells.ts';
import {
  type Coefficient,
  coefficient,
  type FitOptions,
  fitPredictors,
  levelStart,
  type PredictorFit,
} from './predictor-fit.ts';
import { resetKernel } from './reset-kernel.ts';
import {
  type TransitionCells,
  type TransitionCounts,
  type TransitionData,
  transitionCells,
} from './transition-data.ts';
import { transitionDesigns } from './transition-designs.ts';

interface ResetOptions extends FitOptions {
  /** Interval at which exp(x'β) is the cumulative onset hazard. Default 42, in the unit of `time`. */
  readonly referenceTime?: number;
  /** Units of `time` in a year. Default 365.25. */
  readonly yearTime?: number;
  /** Holds the exponent at this value; estimated where absent. */
  readonly exponent?: number;
  /** A fit of nearly the same rows, by some of the same terms: the search begins there. It ends at the same place. */
  readonly near?: Pick<ResetFit, 'terms' | 'theta' | 'limits'>;
}

export interface ResetFit extends PredictorFit {
  readonly onsetTerms: readonly string[];
  readonly clearingTerms: readonly string[];
  readonly counts: TransitionCounts;
  readonly referenceTime: number;
  readonly yearTime: number;
  /** Shortest and longest interval in the data: outside them a risk is extrapolated. */
  readonly timeRange: readonly [number, number];
  /**
   * k of H(d) = exp(x'β)(d/reference)^k: 1 where twice the interval means twice the hazard, above 1 where waiting
   * longer costs more than in proportion. Interval on the square-root scale. Typed, with k held at 1 in the fit:
   * `equal-intervals` where the intervals do not vary, `no-overlap` where they do but too few onsets tell of it.
   * Typed, with k estimated in the fit: `one-cluster` where it rests on one cluster. Typed `one-level` where the
   * caller held k.
   */
  readonly exponent: Estimate | Unavailable;
}

/** The last parameter is log k. */
const EXPONENT_TERM = 'log exponent';

/**
 * Two-state process whose onset clock is set to 0 at the first look of each pair: cumulative onset hazard
 * exp(x'β)(d/reference)^k, clearing at exp(w'γ) per year; onsets that clear again, and return, between looks are
 * allowed for exactly. theta = (β, γ, log k). Maximum likelihood with analytic derivatives of the integral in
 * reset-kernel.ts; rows collapsed to cells first, where they are not yet. `time` in days unless the options say otherwise.
 * Typed `no-rows`, `no-events` (no 0 → 1, or no 1 → 0), `all-events`, `one-level`, `collinear`, `no-overlap`,
 * `one-cluster`, `not-converged`. A group without events becomes a limit. With k = 1 this is the two-state Markov
 * model of Kalbfleisch & Lawless 1985, J Am Stat Assoc 80:863–871.
 */
export function fitOnsetSinceReset(
  data: TransitionData | TransitionCells,
  options: ResetOptions = {},
): Outcome<ResetFit> {
  const referenceTime = options.referenceTime ?? 42;
  const yearTime = options.yearTime ?? 365.25;
  if (
    options.exponent !== undefined &&
    !(options.exponent > 0 && options.exponent < Number.POSITIVE_INFINITY)
  ) {
    throw new Error(`exponent must be above 0: ${options.exponent}`);
  }
  const grouped = 'cells' in data ? data : transitionCells(data);
  const { cells, start, end, time, onset, clearing, counts } = grouped;
  const untold = refuse(counts);
  if (untold) return untold;
  const designs = transitionDesigns(grouped);
  if (isUnavailable(designs)) return designs;
  const { alike } = designs;
  const terms = [...data.onsetTerms, ...data.clearingTerms, EXPONENT_TERM];
  const level = startLevels(grouped, referenceTime, yearTime);
  const exponents = { columns: 1, values: new Float64Array(cells.nCells).fill(1) };
  const kernel = resetKernel(start, end, time, {
    referenceDays: referenceTime,
    yearDays: yearTime,
    // Feet alike in all but their states are told by one integral.
    alike: numberAlike([time, alike.numberOf], cells.nCells).numberOf,
  });
  const filled = filledCells([onset, clearing, exponents], cells.nCells, alike);
  const model = { kernel, cells, filled };
  const fitWith = (heldAt: number | null) =>
    fitPredictors(model, {
      ...options,
      terms,
      start:
        (heldAt === null && nearStart(terms, options.near)) ||
        Float64Array.from([
          ...levelStart(designs.onset, cells.count, level.onset),
          ...levelStart(designs.clearing, cells.count, level.clearing),
          Math.log(heldAt ?? 1),
        ]),
      held: terms.map((_, j) => heldAt !== null && j === terms.length - 1),
    });
  const isEqual = time.every((t) => t === time[0]);
  const { fit, exponent } = withExponent(fitWith, isEqual, options.exponent);
  if (isUnavailable(fit)) return fit;
  return {
    ...fit,
    onsetTerms: data.onsetTerms,
    clearingTerms: data.clearingTerms,
    counts,
    referenceTime,
    yearTime,
    timeRange: [time.reduce((a, b) => Math.min(a, b)), time.reduce((a, b) => Math.max(a, b))],
    exponent,
  };
}

/** What the other fit found of each term, 0 for a term that is new; null without one, or where it ran into a limit. */
function nearStart(terms: readonly string[], near: ResetOptions['near']): Float64Array | null {
  if (!near || near.limits.length > 0) return null;
  return Float64Array.from(terms, (term) => near.theta[near.terms.indexOf(term)] ?? 0);
}

/** Beyond this standard error of log k the 95 % interval of k runs over a factor of 350 and more: no answer. */
const VAGUE_LOG_EXPONENT = 1.5;

/** The fit with k estimated, or, where the data cannot, with k held at the caller's value or at 1. */
function withExponent(
  fitWith: (heldAt: number | null) => Outcome<PredictorFit>,
  isEqual: boolean,
  given: number | undefined,
): { fit: Outcome<PredictorFit>; exponent: Estimate | Unavailable } {
  if (given !== undefined) {
    return {
      fit: fitWith(given),
      exponent: unavailable('one-level', `the exponent was held at ${given}, not estimated.`),
    };
  }
  if (isEqual) {
    return {
      fit: fitWith(1),
      exponent: unavailable(
        'equal-intervals',
        'all intervals are equally long, so these records cannot say whether waiting longer matters; the risk is taken to grow in proportion to time.',
      ),
    };
  }
  const free = fitWith(null);
  if (!isUnavailable(free)) {
    const last = free.terms.length - 1;
    const log = coefficient(free, last);
    const q = free.terms.length;
    // The larger of both, since with few clusters the clustered error of a vague estimate can be falsely small.
    const spread = Math.sqrt(
      Math.max(free.covariance[last * q + last]!, free.modelCovariance[last * q + last]!),
    );
    if (log.kind === 'unavailable') return { fit: free, exponent: log.why };
    const exponent = exponentOf(log, spread);
    // Vague is no answer, unless the records still rule out a rise in proportion.
    if (exponent && (spread < VAGUE_LOG_EXPONENT || exponent.high < 1)) return { fit: free, exponent };
  }
  const held = fitWith(1);
  return {
    fit: isUnavailable(held) && isUnavailable(free) ? free : held,
    exponent: unavailable(
      'no-overlap',
      'too few onsets after intervals of different length to say whether waiting longer matters; the risk is taken to grow in proportion to time.',
    ),
  };
}

/**
 * k with its interval on the square-root scale, which serves near 0 (where that of the logarithm runs off) as well as
 * above 1; where the likelihood rises all the way to k = 0, from 0 to the one-sided profile limit. Null where k has no
 * upper bound.
 */
function exponentOf(log: Coefficient, spread: number): Estimate | null {
  if (log.kind === 'limit') {
    return log.side === 'below' ? { estimate: 0, stdError: null, low: 0, high: Math.exp(log.limit) } : null;
  }
  if (log.kind !== 'estimated') return null;
  const estimate = Math.exp(log.estimate);
  const root = Math.sqrt(estimate);
  const error = (log.stdError ?? spread) * estimate;
  const multiplier = log.stdError ? (log.high - log.estimate) / log.stdError : normalMultiplier(0.95);
  const half = (multiplier * error) / (2 * root);
  return {
    estimate,
    stdError: error,
    low: Math.max(0, root - half) ** 2,
    high: (root + half) ** 2,
  };
}

function refuse({ n00, n01, n10, n11 }: TransitionCounts) {
  if (n00 + n01 + n10 + n11 === 0) return unavailable('no-rows', 'there are no records to work from.');
  if (n00 + n01 === 0 || n10 + n11 === 0) {
    return unavailable(
      'one-level',
      'every record starts in the same state, so onset and clearing cannot be told apart.',
    );
  }
  if (n01 === 0)
    return unavailable('no-events', 'no onset was seen in these records, so its risk cannot be estimated.');
  if (n10 === 0) {
    return unavailable(
      'no-events',
      'no clearing was seen in these records, so its rate cannot be estimated.',
    );
  }
  if (n00 === 0) {
    return unavailable(
      'all-events',
      'every record that started clear ended with an onset, so no risk can be estimated.',
    );
  }
  return null;
}

/** Levels that would hold if nothing happened twice between looks. */
function startLevels(
  { cells, start, time, counts }: TransitionCells,
  referenceTime: number,
  yearTime: number,
) {
  let at0 = 0;
  let at1 = 0;
  cells.count.forEach((count, cell) => {
    if (start[cell] === 0) at0 += count * time[cell]!;
    else at1 += count * time[cell]!;
  });
  const { n00, n01, n10, n11 } = counts;
  const mean0 = at0 / (n00 + n01);
  const mean1 = at1 / (n10 + n11);
  return {
    onset: Math.log((-Math.log1p(-n01 / (n00 + n01)) * referenceTime) / mean0),
    clearing: Math.log((-Math.log1p(-n10 / (n10 + n11 + 0.5)) * yearTime) / mean1),
  };
}
