import { type Estimate, isUnavailable, type Outcome, unavailable } from '../core/outcome.ts';
import { denseCodes } from './cluster-covariance.ts';
import { chiSquareQuantile, normalMultiplier, studentMultiplier } from './distributions.ts';

interface Repeatability {
  /** Standard deviation of repeated measurements of one subject. */
  readonly withinSd: Estimate;
  /** Two measurements of one subject differ by less than this 95 times in 100: 1.96·√2 times the SD. */
  readonly repeatability: Estimate;
  readonly nSubjects: number;
  readonly nMeasurements: number;
}

/** An interval around no spread at all would have no width. */
const NO_SPREAD = unavailable(
  'one-level',
  'the two readings differ by as much in every pair, so there is no spread.',
);

/**
 * Within-subject standard deviation from repeats: pooled variance within subjects, its interval from chi-square with
 * Σ(m − 1) degrees of freedom (normal errors, one spread for all). Subjects measured once add nothing. Typed
 * `no-rows` where nothing repeats. Bland & Altman 1996, BMJ 312:1654 and 313:744.
 */
export function withinSubjectSd(
  value: Float64Array,
  subject: Int32Array,
  confidence = 0.95,
): Outcome<Repeatability> {
  checkFinite('value', value);
  if (subject.length !== value.length)
    throw new Error(`subject must hold ${value.length} values: ${subject.length}`);
  const { codes, count } = denseCodes(subject);
  const rows = new Int32Array(count);
  const mean = new Float64Array(count);
  let squares = 0;
  for (let row = 0; row < value.length; row++) {
    // Welford's update: no loss where readings are large and close together.
    const code = codes[row]!;
    rows[code]!++;
    const step = value[row]! - mean[code]!;
    mean[code]! += step / rows[code]!;
    squares += step * (value[row]! - mean[code]!);
  }
  const freedom = value.length - count;
  if (freedom < 1)
    return unavailable('no-rows', 'nothing was measured twice, so the measuring cannot be judged.');
  const repeated = rows.filter((m) => m > 1);
  return {
    ...spread(squares, freedom, confidence),
    nSubjects: repeated.length,
    nMeasurements: repeated.reduce((sum, m) => sum + m, 0),
  };
}

/** The same from a residual variance already estimated on `freedom` degrees of freedom. */
export function repeatabilityOfVariance(variance: number, freedom: number, confidence = 0.95) {
  if (!(variance >= 0) || !(freedom > 0))
    throw new Error(`variance must be 0 or more on positive freedom: ${variance}, ${freedom}`);
  return spread(variance * freedom, freedom, confidence);
}

function spread(squares: number, freedom: number, confidence: number) {
  const tail = (1 - confidence) / 2;
  const sd = Math.sqrt(squares / freedom);
  const withinSd: Estimate = {
    estimate: sd,
    stdError: null,
    low: Math.sqrt(squares / chiSquareQuantile(1 - tail, freedom)),
    high: Math.sqrt(squares / chiSquareQuantile(tail, freedom)),
  };
  const factor = normalMultiplier(0.95) * Math.SQRT2;
  const repeatability: Estimate = {
    estimate: factor * sd,
    stdError: null,
    low: factor * withinSd.low,
    high: factor * withinSd.high,
  };
  return { withinSd, repeatability };
}

export interface Agreement {
  /** Mean of a − b. */
  readonly bias: Estimate;
  readonly sdOfDifferences: number;
  /** bias ∓ 1.96 SD: where 95 in 100 differences lie. */
  readonly lowerLimit: Estimate;
  readonly upperLimit: Estimate;
  readonly nPairs: number;
}

/**
 * Limits of agreement of paired measurements (a and b of one subject each, pairs independent). The limits' own
 * intervals use their approximate variance 3·SD²/n. Typed `no-rows` under 3 pairs, `one-level` where all
 * pairs are the same distance apart.
 * Bland & Altman 1986, Lancet 327:307–310.
 */
export function limitsOfAgreement(a: Float64Array, b: Float64Array, confidence = 0.95): Outcome<Agreement> {
  checkFinite('a', a);
  checkFinite('b', b);
  const n = a.length;
  if (b.length !== n) throw new Error(`b must hold ${n} values: ${b.length}`);
  if (n < 3)
    return unavailable(
      'no-rows',
      `only ${n} pairs of measurements: too few to compare two ways of measuring.`,
    );
  const difference = a.map((value, i) => value - b[i]!);
  const mean = difference.reduce((sum, d) => sum + d, 0) / n;
  const sd = Math.sqrt(difference.reduce((sum, d) => sum + (d - mean) ** 2, 0) / (n - 1));
  // Rounding leaves a little even where all are the same.
  const size = a.reduce((most, value, i) => Math.max(most, Math.abs(value), Math.abs(b[i]!)), 0);
  if (sd <= 1e-12 * size) return NO_SPREAD;
  const t = studentMultiplier(n - 1, confidence);
  const around = (estimate: number, stdError: number): Estimate => ({
    estimate,
    stdError,
    low: estimate - t * stdError,
    high: estimate + t * stdError,
  });
  const reach = normalMultiplier(0.95) * sd;
  const limitError = sd * Math.sqrt(3 / n);
  return {
    bias: around(mean, sd / Math.sqrt(n)),
    sdOfDifferences: sd,
    lowerLimit: around(mean - reach, limitError),
    upperLimit: around(mean + reach, limitError),
    nPairs: n,
  };
}

/**
 * The same of pairs that are alike within clusters, such as the four feet of one horse read again on one day: the error of
 * the mean difference is linearised by cluster, never less than that of independent pairs; those of the limits widen in
 * proportion; Student's t on clusters less 1. Typed as `limitsOfAgreement`, and `one-cluster`.
 * Cochran 1977, Sampling Techniques, ch. 6 (from memory).
 */
export function clusteredAgreement(
  a: Float64Array,
  b: Float64Array,
  cluster: Int32Array,
  confidence = 0.95,
): Outcome<Agreement> {
  const plain = limitsOfAgreement(a, b, confidence);
  if (isUnavailable(plain)) return plain;
  const { codes, count } = denseCodes(cluster);
  if (count < 2) {
    return unavailable(
      'one-cluster',
      'all pairs belong to one group, so how far groups differ cannot be judged.',
    );
  }
  const apart = new Float64Array(count);
  codes.forEach((code, i) => {
    apart[code]! += a[i]! - b[i]! - plain.bias.estimate;
  });
  const squares = apart.reduce((sum, d) => sum + d * d, 0);
  const stdError = Math.sqrt((count / (count - 1)) * squares) / a.length;
  const wider = Math.max(1, plain.bias.stdError! > 0 ? stdError / plain.bias.stdError! : 1);
  const t = studentMultiplier(count - 1, confidence);
  const widened = ({ estimate, stdError: error }: Estimate): Estimate => ({
    estimate,
    stdError: wider * error!,
    low: estimate - t * wider * error!,
    high: estimate + t * wider * error!,
  });
  return {
    ...plain,
    bias: widened(plain.bias),
    lowerLimit: widened(plain.lowerLimit),
    upperLimit: widened(plain.upperLimit),
  };
}

function checkFinite(name: string, values: Float64Array): void {
  const bad = values.findIndex((value) => !Number.isFinite(value));
  if (bad >= 0) throw new Error(`${name} must be finite: ${values[bad]} at ${bad}`);
}
