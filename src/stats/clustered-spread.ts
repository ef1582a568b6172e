import { type Estimate, isUnavailable, type Outcome, unavailable } from '../core/outcome.ts';
import { clusteredRate } from './clustered-rate.ts';
import { studentMultiplier } from './distributions.ts';

/**
 * Standard deviation from n residuals that are alike within clusters: the root of `scale` times their mean square, with
 * an interval on the logarithm from the linearised variance of the mean square (delta method), Student's t on G − 1.
 * It trusts only that clusters are independent: neither normal errors nor one spread for all. `scale` makes up for what
 * fitting took away (residual variance over mean square), and for sums of several errors.
 * Cochran 1977, Sampling Techniques, ch. 6. Typed as `clusteredRate`.
 */
export function clusteredSpread(residual: Float64Array, cluster: Int32Array, scale = 1): Outcome<Estimate> {
  const squares = new Float64Array(residual.length);
  for (let row = 0; row < squares.length; row++) squares[row] = residual[row]! * residual[row]!;
  const square = clusteredRate(squares, new Float64Array(residual.length).fill(1), cluster);
  if (isUnavailable(square)) return square;
  if (!(square.estimate > 0) || square.stdError === null)
    return unavailable('one-level', 'the readings agree with each other exactly, so there is no spread.');
  const estimate = Math.sqrt(scale * square.estimate);
  const logError = square.stdError / square.estimate / 2;
  const factor = Math.exp(studentMultiplier(square.nClusters - 1) * logError);
  return { estimate, stdError: estimate * logError, low: estimate / factor, high: estimate * factor };
}

/** 1.4826 times the median distance from the median: the SD of normal values, whatever a few stray ones say. */
export function robustSd(values: Float64Array): number {
  const middle = median(values);
  const distance = new Float64Array(values.length);
  for (let i = 0; i < distance.length; i++) distance[i] = Math.abs(values[i]! - middle);
  return 1.4826 * median(distance);
}

/** The middle of values none of which is NaN; the mean of the two in the middle where they are even in number; NaN of none. */
export function median(values: Float64Array): number {
  if (values.length === 0) return Number.NaN;
  const parted = Float64Array.from(values);
  const half = parted.length >> 1;
  const upper = smallest(parted, half);
  if (parted.length % 2) return upper;
  // All that stand before it are no larger.
  let lower = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < half; i++) lower = Math.max(lower, parted[i]!);
  return (lower + upper) / 2;
}

/**
 * The value that would stand at a place were they sorted, those before it no larger and those after it no smaller: parts
 * the values about one of them until the place is found. Hoare 1961, Comm ACM 4:321–322 (FIND).
 */
function smallest(values: Float64Array, place: number): number {
  let [from, to] = [0, values.length - 1];
  while (from < to) {
    const about = values[(from + to) >> 1]!;
    let [i, j] = [from, to];
    while (i <= j) {
      while (values[i]! < about) i++;
      while (values[j]! > about) j--;
      if (i > j) break;
      [values[i], values[j]] = [values[j]!, values[i]!];
      i++;
      j--;
    }
    if (place <= j) to = j;
    else if (place >= i) from = i;
    else break;
  }
  return values[place]!;
}
