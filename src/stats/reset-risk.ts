import { isUnavailable, type Outcome, unavailable } from '../core/outcome.ts';
import type { ResetFit } from './onset-since-reset.ts';
import { errorOf, stdErrorOf } from './predictor-fit.ts';
import { CHANCES, resetChances } from './reset-kernel.ts';

/** Covariates of one unit: a value for each onset term, and for each clearing term. */
export interface ResetPoint {
  readonly onset: ArrayLike<number>;
  readonly clearing: ArrayLike<number>;
}

/** Chance of state 1 at the end of an interval that began in state 0; arrays as long as the times asked for. */
export interface ResetRisk {
  readonly risk: Float64Array;
  /** The risk is below this with the confidence asked for: one-sided, by the delta method on log(−log(1 − risk)). */
  readonly upper: Float64Array;
}

/** Log onset hazard at the reference interval, log clearing rate a year and log exponent at a point. */
export function resetPredictors(fit: ResetFit, { onset, clearing }: ResetPoint): [number, number, number] {
  const p = fit.onsetTerms.length;
  const r = fit.clearingTerms.length;
  let [h, c] = [0, 0];
  for (let j = 0; j < p; j += 1) if (onset[j] !== 0) h += onset[j]! * fit.theta[j]!;
  for (let j = 0; j < r; j += 1) if (clearing[j] !== 0) c += clearing[j]! * fit.theta[p + j]!;
  return [h, c, fit.theta[p + r]!];
}

/** A gradient in the three predictors as one in the parameters of the fit. */
export function toParameters(
  fit: ResetFit,
  point: ResetPoint,
  slopes: readonly [number, number, number],
): Float64Array {
  const gradient = new Float64Array(fit.theta.length);
  slopesInto(gradient, fit, point, slopes);
  return gradient;
}

function slopesInto(
  gradient: Float64Array,
  { onsetTerms, clearingTerms }: ResetFit,
  { onset, clearing }: ResetPoint,
  slopes: readonly [number, number, number],
): void {
  const p = onsetTerms.length;
  const r = clearingTerms.length;
  for (let j = 0; j < p; j += 1) gradient[j] = slopes[0] * onset[j]!;
  for (let j = 0; j < r; j += 1) gradient[p + j] = slopes[1] * clearing[j]!;
  gradient[p + r] = slopes[2];
}

/** Whether the fit has an estimate at this point, and not only a limit for a group without events. */
export function isEstimatedAt(fit: ResetFit, { onset, clearing }: ResetPoint): boolean {
  const p = fit.onsetTerms.length;
  return fit.limits.every(({ parameter }) => (parameter < p ? !onset[parameter] : !clearing[parameter - p]));
}

/**
 * Risk of one set of covariates at each of `times` (in the fit's unit, above 0, ascending), with a one-sided upper
 * limit at `confidence` (above 0.5). Student's t on the clusters that the risk at the reference interval effectively
 * rests on. Typed `no-events` where a group without events has only a limit; `one-cluster`.
 */
export function resetRisk(
  fit: ResetFit,
  point: ResetPoint,
  times: ArrayLike<number>,
  confidence: number,
): Outcome<ResetRisk> {
  if (!(confidence > 0.5 && confidence < 1)) {
    throw new Error(`confidence must lie between 0.5 and 1: ${confidence}`);
  }
  if (!isEstimatedAt(fit, point)) {
    return unavailable('no-events', 'no onset was seen in this group, so its risk cannot be estimated.');
  }
  // The upper end of a two-sided interval of 2c − 1 is a one-sided limit of c.
  const oneSided: ResetFit = { ...fit, confidence: 2 * confidence - 1 };
  const eta = resetPredictors(fit, point);
  const chances = new Float64Array(CHANCES);
  const gradient = new Float64Array(fit.theta.length);
  /** The risk after so long; its gradient in the parameters is in `gradient`. */
  const riskAfter = (time: number): number => {
    resetChances(...eta, time, fit.referenceTime, fit.yearTime, chances);
    slopesInto(gradient, fit, point, [chances[1]!, chances[2]!, chances[3]!]);
    return chances[0]!;
  };
  riskAfter(fit.referenceTime);
  // How many clusters it rests on hardly changes with time, and is costly to count.
  const reference = errorOf(oneSided, gradient);
  if (isUnavailable(reference)) return reference;
  const n = times.length;
  const out = { risk: new Float64Array(n), upper: new Float64Array(n) };
  for (let i = 0; i < n; i += 1) {
    const p01 = riskAfter(times[i]!);
    const hazard = -Math.log1p(-p01);
    const spread = (reference.multiplier * stdErrorOf(fit, gradient)) / ((1 - p01) * hazard);
    out.risk[i] = p01;
    out.upper[i] = hazard > 0 ? -Math.expm1(-hazard * Math.exp(spread)) : 0;
  }
  return out;
}
