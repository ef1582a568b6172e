import { isUnavailable, type Outcome, unavailable } from '../core/outcome.ts';
import { chiSquareQuantile } from './distributions.ts';
import { factorSpd, type SquareMatrix } from './linear-algebra.ts';
import { minimise } from './optimise.ts';
import { type WeibullDerivatives, type WeibullRows, weibullDerivatives } from './weibull-likelihood.ts';
import { kernelRows, type LoneColumn, type SilentColumn, type WeibullData } from './weibull-rows.ts';

export interface WeibullMaximum {
  readonly theta: Float64Array;
  readonly value: number;
  /** Inverse of the observed information. */
  readonly covariance: SquareMatrix;
}

/** A coefficient spread over its column's range that no data of this kind support. */
const RUNAWAY_RANGE = 10;
const RUNAWAY_ERROR = 5;
const RUNAWAY_SHAPE_ERROR = 3;

/**
 * Damped Newton on (ψ, α), in which the log-likelihood is concave, so that a maximum is the maximum.
 * Unavailable ('not-converged') where a coefficient runs away: no finite maximum exists.
 */
export function maximise(rows: WeibullRows, start?: Float64Array): Outcome<WeibullMaximum> {
  const climbed = climb(rows, start ?? startOf(rows));
  if (isUnavailable(climbed)) return ranAway();
  const { theta, at } = climbed;
  const p = rows.q + 1;
  const covariance = factorSpd(
    at.hessian.map((h) => -h),
    p,
  )?.inverse();
  if (!covariance || isRunaway(rows, theta, covariance)) return ranAway();
  return { theta, value: at.value, covariance };
}

function climb(
  rows: WeibullRows,
  start: Float64Array,
): Outcome<{ theta: Float64Array; at: WeibullDerivatives }> {
  let last: { readonly key: Float64Array; readonly at: WeibullDerivatives } | null = null;
  const evaluate = (theta: Float64Array): WeibullDerivatives => {
    if (!last?.key.every((v, i) => v === theta[i])) {
      last = { key: Float64Array.from(theta), at: weibullDerivatives(rows, theta) };
    }
    return last!.at;
  };
  const found = minimise(
    (theta) => {
      const { value, gradient } = evaluate(theta);
      return { value: -value, gradient: gradient.map((g) => -g) };
    },
    start,
    { hessian: (theta) => evaluate(theta).hessian.map((h) => -h), gradientTolerance: 1e-11 },
  );
  return isUnavailable(found) ? found : { theta: found.x, at: evaluate(found.x) };
}

/** A level rate: events over time followed, taking each interval's right end. */
function startOf({ logLeft, logRight, weight, q }: WeibullRows): Float64Array {
  let events = 0;
  let time = 0;
  logLeft.forEach((left, i) => {
    const right = logRight[i]!;
    const seen = right < Number.POSITIVE_INFINITY;
    if (seen) events += weight[i]!;
    time += weight[i]! * Math.exp(seen ? right : left);
  });
  const theta = new Float64Array(q + 1);
  theta[0] = Math.log(events / time);
  theta[q] = 1;
  return theta;
}

function isRunaway(
  { design, q, logLeft }: WeibullRows,
  theta: Float64Array,
  covariance: SquareMatrix,
): boolean {
  const p = q + 1;
  const shape = theta[q]!;
  if (Math.sqrt(covariance[p * p - 1]!) / shape > RUNAWAY_SHAPE_ERROR) return true;
  for (let a = 1; a < q; a += 1) {
    let low = Number.POSITIVE_INFINITY;
    let high = Number.NEGATIVE_INFINITY;
    for (let i = 0; i < logLeft.length; i += 1) {
      low = Math.min(low, design[i * q + a]!);
      high = Math.max(high, design[i * q + a]!);
    }
    const range = high - low;
    const error = Math.sqrt(covariance[a * p + a]!);
    if (Math.abs(theta[a]!) * range > RUNAWAY_RANGE && error * range > RUNAWAY_ERROR) return true;
  }
  return false;
}

function ranAway() {
  return unavailable(
    'not-converged',
    'These records do not settle on one answer: some combination of terms separates the events completely, or they hold too few.',
  );
}

/** `limit` bounds the log hazard ratio of `term` from above where the direction is `below`, else from below. */
export interface SilentLimit {
  readonly term: string;
  readonly direction: SilentColumn['direction'];
  readonly nRows: number;
  /** One-sided, at the confidence asked for; null where it could not be found. */
  readonly limit: number | null;
  /** Factor on the likelihood-ratio threshold for clustering: mean ratio of clustered to model variances, at least 1. */
  readonly inflation: number;
}

/**
 * One-sided profile-likelihood limit for a column without events (or with all). In the limit ψ → ∓∞ its rows
 * add nothing to the log-likelihood, so the maximum is that of the other rows; the limit is where the profile
 * has fallen by half the one-sided chi-square quantile. Clustering is allowed for by scaling that quantile in the
 * manner of Rao & Scott 1981, J Am Stat Assoc 76:221–230: a rough allowance, said so in the methods page.
 */
export function limitOfSilent(
  all: {
    readonly data: WeibullData;
    readonly informative: readonly number[];
    readonly logUnit: number;
    readonly silent: readonly SilentColumn[];
    readonly lone: readonly LoneColumn[];
    readonly columns: readonly number[];
  },
  { column, direction }: SilentColumn,
  best: WeibullMaximum,
  inflation: number,
  confidence = 0.95,
): SilentLimit {
  const { data, columns } = all;
  const p = data.terms.length;
  const others = all.silent.map((s) => s.column).filter((j) => j !== column);
  const informative = all.informative.filter(
    (i) =>
      others.every((j) => data.x[i * p + j] === 0) &&
      all.lone.every((l) => data.x[i * p + l.column] !== l.side),
  );
  const rows = kernelRows(data, informative, columns, all.logUnit);
  const nRows = informative.filter((i) => data.x[i * p + column] === 1).length;
  const drop = (inflation * chiSquareQuantile(2 * confidence - 1, 1)) / 2;
  const sign = direction === 'below' ? 1 : -1;
  /** How far the profile lies below the maximum; null where the inner fit fails. */
  const deficit = (psi: number): number | null => {
    informative.forEach((i, k) => {
      rows.offset[k] = psi * data.x[i * p + column]!;
    });
    const fit = climb(rows, best.theta);
    return isUnavailable(fit) ? null : best.value - fit.at.value - drop;
  };
  const limit = solveRising((s) => deficit(sign * s));
  return {
    term: data.terms[column]!,
    direction,
    nRows,
    limit: limit === null ? null : sign * limit,
    inflation,
  };
}

/** Root of a rising function, bracketed from 0 outwards, then bisected to 1e-8. */
function solveRising(f: (s: number) => number | null): number | null {
  let low = 0;
  let high = 0;
  const atZero = f(0);
  if (atZero === null) return null;
  for (let step = 1; step <= 64; step *= 2) {
    const probe = atZero < 0 ? step : -step;
    const value = f(probe);
    if (value === null) return null;
    if (atZero < 0) high = probe;
    else low = probe;
    if (value < 0 !== atZero < 0) {
      while (high - low > 1e-8) {
        const middle = (low + high) / 2;
        const here = f(middle);
        if (here === null) return null;
        if (here < 0) low = middle;
        else high = middle;
      }
      return (low + high) / 2;
    }
    if (atZero < 0) low = probe;
    else high = probe;
  }
  return null;
}
