import { type Outcome, unavailable } from '../core/outcome.ts';

/** A covariate split into what differs between clusters and what differs within them: between + within = value. */
interface WithinBetween {
  /** For each of n rows the mean over the included rows of its cluster. */
  readonly between: Float64Array;
  /** For each of n rows its distance from that mean. */
  readonly within: Float64Array;
  readonly nClusters: number;
  /** Clusters in which the included values vary: only they speak to the effect within clusters. */
  readonly nVarying: number;
}

/**
 * Splits `values` (n) by `cluster` (n, any integers). With both parts in a regression, the coefficient of `within`
 * compares a cluster with itself, so what is constant in a cluster cannot bias it; that of `between` compares clusters
 * (Neuhaus & Kalbfleisch 1998, Biometrics 54:638–645; Mundlak 1978, Econometrica 46:69–85). Means use the rows
 * marked in `include` (all where absent); rows of a cluster without any keep its mean over all its rows.
 * Typed `no-rows`, `one-cluster`, `equal-intervals` (no cluster varies).
 * Errors: arrays of unequal length, a value that is not finite.
 */
export function splitWithinBetween(
  values: ArrayLike<number>,
  cluster: ArrayLike<number>,
  include?: ArrayLike<number | boolean>,
): Outcome<WithinBetween> {
  const n = values.length;
  if (cluster.length !== n) throw new Error(`cluster must be as long as values: ${cluster.length}, ${n}`);
  if (include && include.length !== n)
    throw new Error(`include must be as long as values: ${include.length}, ${n}`);
  if (n === 0) return unavailable('no-rows', 'there are no records to work from.');
  const sums = new Map<number, Sums>();
  for (let row = 0; row < n; row += 1) {
    const value = values[row]!;
    if (!Number.isFinite(value)) throw new Error(`values must be finite: ${value} in row ${row}`);
    let sum = sums.get(cluster[row]!);
    if (!sum) {
      sum = { count: 0, total: 0, low: value, high: value, countAll: 0, totalAll: 0 };
      sums.set(cluster[row]!, sum);
    }
    sum.countAll += 1;
    sum.totalAll += value;
    if (include && !include[row]) continue;
    if (sum.count === 0) sum.low = sum.high = value;
    sum.count += 1;
    sum.total += value;
    sum.low = Math.min(sum.low, value);
    sum.high = Math.max(sum.high, value);
  }
  const used = [...sums.values()].filter((sum) => sum.count > 0);
  const nVarying = used.filter((sum) => sum.high > sum.low).length;
  if (used.length === 0) return unavailable('no-rows', 'there are no records to work from.');
  if (used.length === 1) {
    return unavailable(
      'one-cluster',
      'all records belong to one group, so there is nothing to compare between groups.',
    );
  }
  if (nVarying === 0) {
    return unavailable(
      'equal-intervals',
      'no group has values of more than one length, so none can be compared with itself.',
    );
  }
  const between = new Float64Array(n);
  const within = new Float64Array(n);
  for (let row = 0; row < n; row += 1) {
    const mean = meanOf(sums.get(cluster[row]!)!);
    between[row] = mean;
    within[row] = values[row]! - mean;
  }
  return { between, within, nClusters: used.length, nVarying };
}

interface Sums {
  count: number;
  total: number;
  low: number;
  high: number;
  countAll: number;
  totalAll: number;
}

/** Exactly the value where a cluster does not vary, so that its distances are exactly 0. */
function meanOf({ count, total, low, high, countAll, totalAll }: Sums): number {
  if (count === 0) return totalAll / countAll;
  return low === high ? low : total / count;
}
