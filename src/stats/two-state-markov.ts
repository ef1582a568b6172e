import { type Estimate, isUnavailable, type Outcome, unavailable } from '../core/outcome.ts';
import { filledCells } from './filled-cells.ts';
import { markovKernel } from './markov-kernel.ts';
import {
  type DirectionError,
  errorOf,
  type FitOptions,
  fitPredictors,
  levelStart,
  type PredictorFit,
} from './predictor-fit.ts';
import {
  type TransitionCells,
  type TransitionCounts,
  type TransitionData,
  transitionCells,
} from './transition-data.ts';
import { transitionDesigns } from './transition-designs.ts';

export interface MarkovFit extends PredictorFit {
  readonly onsetTerms: readonly string[];
  readonly clearingTerms: readonly string[];
  readonly counts: TransitionCounts;
}

/**
 * Two-state continuous-time Markov model seen only at looks: q01 = exp(x'β), q10 = exp(w'γ) per unit of `time`,
 * constant between the looks of a pair. theta = (β, γ). Maximum likelihood from P(time) in closed form with analytic
 * derivatives; the `model` covariance is the inverse observed information. Rows are collapsed to cells first, where they are
 * not yet. Typed `no-rows`, `no-events` (0 → 1 never
 * seen, or 1 → 0 never seen), `one-level` (all start in one state), `collinear`, `no-overlap`, `one-cluster`,
 * `not-converged`. A group without events becomes a limit.
 * Kalbfleisch & Lawless 1985, J Am Stat Assoc 80:863–871; Jackson 2011, J Stat Softw 38(8) (R package msm).
 */
export function fitTwoStateMarkov(
  data: TransitionData | TransitionCells,
  options: FitOptions = {},
): Outcome<MarkovFit> {
  const grouped = 'cells' in data ? data : transitionCells(data);
  const { cells, start, end, time, onset, clearing, counts } = grouped;
  const untold = refuse(counts);
  if (untold) return untold;
  const designs = transitionDesigns(grouped);
  if (isUnavailable(designs)) return designs;
  const { alike } = designs;
  let exposure0 = 0;
  let exposure1 = 0;
  cells.count.forEach((count, cell) => {
    if (start[cell] === 0) exposure0 += count * time[cell]!;
    else exposure1 += count * time[cell]!;
  });
  const filled = filledCells([onset, clearing], cells.nCells, alike);
  const model = { kernel: markovKernel(start, end, time), cells, filled };
  const fit = fitPredictors(model, {
    ...options,
    terms: [...data.onsetTerms, ...data.clearingTerms],
    start: Float64Array.from([
      ...levelStart(designs.onset, cells.count, Math.log(counts.n01 / exposure0)),
      ...levelStart(designs.clearing, cells.count, Math.log(counts.n10 / exposure1)),
    ]),
  });
  if (isUnavailable(fit)) return fit;
  return { ...fit, onsetTerms: data.onsetTerms, clearingTerms: data.clearingTerms, counts };
}

function refuse({ n00, n01, n10, n11 }: TransitionCounts) {
  if (n00 + n01 + n10 + n11 === 0) return unavailable('no-rows', 'there are no records to work from.');
  if (n00 + n01 === 0 || n10 + n11 === 0) {
    return unavailable(
      'one-level',
      'every record starts in the same state, so moves between the two states cannot be estimated.',
    );
  }
  if (n01 === 0)
    return unavailable('no-events', 'no onset was seen in these records, so its rate cannot be estimated.');
  if (n10 === 0) {
    return unavailable(
      'no-events',
      'no clearing was seen in these records, so its rate cannot be estimated.',
    );
  }
  return null;
}

/** What a fit says for one set of covariates. */
export interface MarkovSummary {
  /** 0 → 1 and 1 → 0 per unit of time; interval on the log scale. */
  readonly onsetRate: Estimate;
  readonly clearingRate: Estimate;
  /** Mean time in state 1 once there, 1/q10; interval on the log scale. */
  readonly meanSpell: Estimate;
  /** q01/(q01 + q10): the share of time in state 1 in the long run; interval on the logit scale. */
  readonly longRunShare: Estimate;
}

/**
 * Rates, mean spell and long-run share at covariates `onset` (x) and `clearing` (w), by the delta method.
 * Typed `no-events` where x or w touches a group without events, `one-cluster` where they rest on one cluster.
 */
export function markovSummary(
  fit: MarkovFit,
  onset: ArrayLike<number>,
  clearing: ArrayLike<number>,
): Outcome<MarkovSummary> {
  const p = fit.onsetTerms.length;
  if (onset.length !== p) throw new Error(`onset must hold ${p} values: ${onset.length}`);
  if (clearing.length !== fit.clearingTerms.length) {
    throw new Error(`clearing must hold ${fit.clearingTerms.length} values: ${clearing.length}`);
  }
  const toOnset = new Float64Array(fit.theta.length);
  const toClearing = new Float64Array(fit.theta.length);
  for (let j = 0; j < p; j += 1) toOnset[j] = onset[j]!;
  for (let j = 0; j < clearing.length; j += 1) toClearing[p + j] = clearing[j]!;
  if (fit.limits.some(({ parameter }) => toOnset[parameter] !== 0 || toClearing[parameter] !== 0)) {
    return unavailable('no-events', 'this group has no events of one kind, so only a limit can be given.');
  }
  const ways = {
    onset: logScale(fit, toOnset),
    clearing: logScale(fit, toClearing),
    spell: logScale(
      fit,
      toClearing.map((v) => -v),
    ),
    share: logScale(
      fit,
      toOnset.map((value, j) => value - toClearing[j]!),
    ),
  };
  if (isUnavailable(ways.onset)) return ways.onset;
  if (isUnavailable(ways.clearing)) return ways.clearing;
  if (isUnavailable(ways.spell)) return ways.spell;
  if (isUnavailable(ways.share)) return ways.share;
  const itself = (result: number) => result;
  return {
    onsetRate: carried(ways.onset, Math.exp, itself),
    clearingRate: carried(ways.clearing, Math.exp, itself),
    meanSpell: carried(ways.spell, Math.exp, itself),
    longRunShare: carried(
      ways.share,
      (v) => 1 / (1 + Math.exp(-v)),
      (share) => share * (1 - share),
    ),
  };
}

interface LogScale {
  readonly value: number;
  readonly error: DirectionError;
}

function logScale(fit: MarkovFit, weights: Float64Array): Outcome<LogScale> {
  const value = weights.reduce((sum, weight, j) => sum + (weight === 0 ? 0 : weight * fit.theta[j]!), 0);
  const error = errorOf(fit, weights);
  return isUnavailable(error) ? error : { value, error };
}

/** Estimate and interval carried over by `back`; `slope` is its derivative, given its result. */
function carried(
  { value, error: { stdError, multiplier } }: LogScale,
  back: (v: number) => number,
  slope: (result: number) => number,
): Estimate {
  const estimate = back(value);
  return {
    estimate,
    stdError: slope(estimate) * stdError,
    low: back(value - multiplier * stdError),
    high: back(value + multiplier * stdError),
  };
}

/** P(state 1 after `time`) from state 0 and from state 1, for rates per the same unit. */
export function markovProbabilities(q01: number, q10: number, time: number): { p01: number; p11: number } {
  const total = q01 + q10;
  if (total === 0) return { p01: 0, p11: 1 };
  const moved = -Math.expm1(-total * time) / total;
  return { p01: q01 * moved, p11: 1 - q10 * moved };
}
