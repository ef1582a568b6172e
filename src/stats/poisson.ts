import { checkConfidence, chiSquareCdf, chiSquareQuantile } from './distributions.ts';

/** P(X ≤ count) of a Poisson count with this mean, by the chi-square identity: 1 − χ²(2·mean; 2(count + 1)). */
export function poissonCdf(count: number, mean: number): number {
  if (!(mean >= 0)) throw new Error(`mean must be 0 or more: ${mean}`);
  if (count < 0) return 0;
  return mean === 0 ? 1 : 1 - chiSquareCdf(2 * mean, 2 * (Math.floor(count) + 1));
}

/** The least count whose P(X ≤ count) reaches p. */
export function poissonQuantile(p: number, mean: number): number {
  if (!(p > 0 && p < 1)) throw new Error(`p must lie between 0 and 1: ${p}`);
  // Near the answer by the normal curve, then one by one.
  let count = Math.max(0, Math.floor(mean + Math.sqrt(mean) * roughNormal(p)));
  while (count > 0 && poissonCdf(count - 1, mean) >= p) count -= 1;
  while (poissonCdf(count, mean) < p) count += 1;
  return count;
}

/** Good to a few per cent: a place to start from. */
function roughNormal(p: number): number {
  const t = Math.sqrt(-2 * Math.log(Math.min(p, 1 - p)));
  const z = t - (2.30753 + 0.27061 * t) / (1 + 0.99229 * t + 0.04481 * t * t);
  return p < 0.5 ? -z : z;
}

/**
 * The count that bounds a share p of a Poisson distribution, interpolated between whole counts so that it moves
 * smoothly with the mean: r − (F(r) − p)/(F(r) − F(r − 1)) for r the quantile, at least 0. Spiegelhalter 2005, Stat Med
 * 24:1185–1202, appendix A.1.1 (from memory).
 */
export function poissonLimit(p: number, mean: number): number {
  const r = poissonQuantile(p, mean);
  const [above, below] = [poissonCdf(r, mean), poissonCdf(r - 1, mean)];
  return Math.max(0, r - (above - p) / (above - below));
}

/**
 * Interval for the mean of a Poisson count, which need not be whole: χ²(α/2; 2x)/2 to χ²(1 − α/2; 2x + 2)/2, with 0 below
 * at x = 0. Garwood 1936, Biometrika 28:437–442.
 */
export function poissonInterval(count: number, confidence = 0.95): { low: number; high: number } {
  checkConfidence(confidence);
  if (!(count >= 0)) throw new Error(`count must be 0 or more: ${count}`);
  const tail = (1 - confidence) / 2;
  return {
    low: count === 0 ? 0 : chiSquareQuantile(tail, 2 * count) / 2,
    high: chiSquareQuantile(1 - tail, 2 * count + 2) / 2,
  };
}

/**
 * The same of a count whose variance is `dispersion` (1 or more) times its mean, from the count it is worth:
 * dispersion · interval(count/dispersion).
 */
export function dispersedInterval(
  count: number,
  dispersion: number,
  confidence = 0.95,
): { low: number; high: number } {
  if (!(dispersion >= 1)) throw new Error(`dispersion must be 1 or more: ${dispersion}`);
  const { low, high } = poissonInterval(count / dispersion, confidence);
  return { low: low * dispersion, high: high * dispersion };
}

/**
 * How much more counts vary than Poisson counts of their means: Σ(o − e)²/Σe over independent groups, times
 * G/(G − fitted) where `fitted` figures were estimated from them; never below 1. McCullagh & Nelder 1989, Generalized
 * Linear Models, section 6.2.3, in the form that few expected events do not upset.
 */
export function dispersionOf(observed: ArrayLike<number>, expected: ArrayLike<number>, fitted = 0): number {
  if (observed.length !== expected.length) {
    throw new Error(`expected must hold ${observed.length} values: ${expected.length}`);
  }
  let squares = 0;
  let total = 0;
  for (let g = 0; g < observed.length; g += 1) {
    squares += (observed[g]! - expected[g]!) ** 2;
    total += expected[g]!;
  }
  const groups = observed.length;
  if (!(total > 0) || groups <= fitted + 1) return 1;
  return Math.max(1, ((squares / total) * groups) / (groups - fitted));
}
