import { type Estimate, isUnavailable, type Outcome, unavailable } from '../core/outcome.ts';
import type { ResetFit } from './onset-since-reset.ts';
import { errorOf } from './predictor-fit.ts';
import { CHANCES, GAUSS_16, resetChances } from './reset-kernel.ts';
import { isEstimatedAt, type ResetPoint, resetPredictors, toParameters } from './reset-risk.ts';

/** A process looked at, and its onset clock set to 0, every so often for ever. */
interface SteadyCycle {
  /** Onsets a year, those that clear again before the next look among them. */
  readonly onsetsPerYear: number;
  /** Share of looks at which the state is 1. */
  readonly shareAtLook: number;
  /** Derivatives of `onsetsPerYear` in (log onset at the reference, log clearing, log exponent). */
  readonly gradient: readonly [number, number, number];
}

/**
 * Long run of looks every `time`: state 1 at a share π = P01/(P01 + 1 − P11) of looks (the stationary share of a
 * two-state chain: Kemeny & Snell 1960, Finite Markov Chains, ch. 4), and, since onsets and clearings must then
 * balance, as many onsets as clearings: clearing rate × mean share of time in state 1. That mean by 16-point
 * Gauss–Legendre over one interval.
 */
export function steadyCycle(
  eta: readonly [number, number, number],
  time: number,
  referenceTime: number,
  yearTime: number,
): SteadyCycle {
  const at = new Float64Array(CHANCES);
  const look = (days: number): void => resetChances(...eta, days, referenceTime, yearTime, at);
  look(time);
  const [a, b] = [at[0]!, 1 - at[4]!];
  const share = a / (a + b);
  const dShare = [0, 1, 2].map((j) => (b * at[1 + j]! + a * at[5 + j]!) / (a + b) ** 2);
  let mean = 0;
  const dMean: [number, number, number] = [0, 0, 0];
  GAUSS_16.nodes.forEach((node, i) => {
    const weight = GAUSS_16.weights[i]!;
    look(node * time);
    mean += weight * (share * at[4]! + (1 - share) * at[0]!);
    for (let j = 0; j < 3; j += 1) {
      dMean[j]! += weight * (dShare[j]! * (at[4]! - at[0]!) + share * at[5 + j]! + (1 - share) * at[1 + j]!);
    }
  });
  const rate = Math.exp(eta[1]);
  return {
    onsetsPerYear: rate * mean,
    shareAtLook: share,
    gradient: [rate * dMean[0], rate * (dMean[1] + mean), rate * dMean[2]],
  };
}

/** Several plans of looking at units, each a mix of cells: units that share covariates and interval. */
export interface CyclePlans {
  /** Covariates that cells have. */
  readonly points: readonly ResetPoint[];
  readonly scenarios: readonly CycleCells[];
}

/** Cell by cell its place among the points, its interval and how many units it stands for. */
interface CycleCells {
  readonly point: Int32Array;
  readonly time: Float64Array;
  readonly weight: Float64Array;
}

interface OnsetRates {
  /** Onsets a year of one unit, averaged over the cells of each scenario; interval on the log scale. */
  readonly rates: readonly Estimate[];
  /** The same less those of the scenario named. */
  readonly differences: readonly Estimate[];
  /** Weight averaged over in each scenario. */
  readonly weights: readonly number[];
}

/**
 * Onsets a year in the long run under several plans of looking, with delta-method intervals for the parameters; `against` is
 * the place of the scenario that the others are compared with. Cells of groups without events are left out. Typed `no-events`
 * where a scenario has no cell left, `one-cluster`.
 */
export function onsetRates(
  fit: ResetFit,
  { points, scenarios }: CyclePlans,
  against: number,
): Outcome<OnsetRates> {
  const q = fit.theta.length;
  const found: { rate: number; gradient: Float64Array; weight: number }[] = [];
  const isEstimated = points.map((point) => isEstimatedAt(fit, point));
  const steadyAt = steadyCycles(fit, points);
  for (const { point, time, weight: weights } of scenarios) {
    const used = Array.from(point.keys()).filter((i) => weights[i]! > 0 && isEstimated[point[i]!]);
    const weight = used.reduce((sum, i) => sum + weights[i]!, 0);
    if (weight === 0)
      return unavailable('no-events', 'no group here has onsets enough to estimate their rate.');
    const gradient = new Float64Array(q);
    let rate = 0;
    for (const i of used) {
      const { onsetsPerYear, slopes } = steadyAt(point[i]!, time[i]!);
      const share = weights[i]! / weight;
      rate += share * onsetsPerYear;
      for (let j = 0; j < q; j += 1) gradient[j]! += share * slopes[j]!;
    }
    found.push({ rate, gradient, weight });
  }
  const reference = found[against];
  if (!reference) throw new Error(`against must lie below ${scenarios.length}: ${against}`);
  const rates: Estimate[] = [];
  const differences: Estimate[] = [];
  for (const { rate, gradient } of found) {
    const error = errorOf(fit, gradient);
    if (isUnavailable(error)) return error;
    const spread = (error.multiplier * error.stdError) / rate;
    rates.push({
      estimate: rate,
      stdError: error.stdError,
      low: rate * Math.exp(-spread),
      high: rate * Math.exp(spread),
    });
    const apart = gradient.map((slope, j) => slope - reference.gradient[j]!);
    const difference = rate - reference.rate;
    if (apart.every((slope) => slope === 0)) {
      differences.push({ estimate: difference, stdError: 0, low: difference, high: difference });
      continue;
    }
    const apartError = errorOf(fit, apart);
    if (isUnavailable(apartError)) return apartError;
    const reach = apartError.multiplier * apartError.stdError;
    differences.push({
      estimate: difference,
      stdError: apartError.stdError,
      low: difference - reach,
      high: difference + reach,
    });
  }
  return { rates, differences, weights: found.map(({ weight }) => weight) };
}

interface SteadyAt {
  readonly onsetsPerYear: number;
  /** In the parameters of the fit. */
  readonly slopes: Float64Array;
}

/** At one of the points, looked at every so often: plans mostly share their intervals, and each is worked out once. */
function steadyCycles(
  fit: ResetFit,
  points: readonly ResetPoint[],
): (point: number, time: number) => SteadyAt {
  const known = points.map(() => new Map<number, SteadyAt>());
  const etas = points.map((point) => resetPredictors(fit, point));
  return (point, time) => {
    const ofPoint = known[point]!;
    let at = ofPoint.get(time);
    if (!at) {
      const { onsetsPerYear, gradient } = steadyCycle(etas[point]!, time, fit.referenceTime, fit.yearTime);
      at = { onsetsPerYear, slopes: toParameters(fit, points[point]!, gradient) };
      ofPoint.set(time, at);
    }
    return at;
  };
}
