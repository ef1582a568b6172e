import { type Outcome, unavailable } from '../core/outcome.ts';
import { multiply, type SquareMatrix } from './linear-algebra.ts';

interface ClusterCovariance {
  /** p × p, row-major. */
  readonly covariance: SquareMatrix;
  readonly nClusters: number;
}

interface ClusterCovarianceOptions {
  /** `clusters`: times G/(G − 1); `none`: as it is. Default `clusters`. */
  readonly smallSample?: 'none' | 'clusters';
}

/**
 * Sandwich covariance B (Σ_g s_g s_g') B for estimates whose scores add up within clusters. `bread` is the
 * p × p inverse of the observed information (not divided by n), `scores` the n × p row-major gradients of the
 * log-likelihood at the estimate, `cluster` the n ids (any integers). One cluster is refused.
 * Liang & Zeger 1986, Biometrika 73:13–22; Zeileis, Köll & Graham 2020, J Stat Softw 95(1).
 */
export function clusterCovariance(
  bread: SquareMatrix,
  scores: Float64Array,
  cluster: Int32Array,
  options: ClusterCovarianceOptions = {},
): Outcome<ClusterCovariance> {
  return sandwichOfSums(bread, sumByCluster(scores, cluster, widthOf(bread)), options);
}

/** The same from scores already summed: G × p, row-major, one row a cluster. */
export function sandwichOfSums(
  bread: SquareMatrix,
  clusterScores: Float64Array,
  options: ClusterCovarianceOptions = {},
): Outcome<ClusterCovariance> {
  const p = widthOf(bread);
  const nClusters = clusterScores.length / p;
  if (!Number.isInteger(nClusters)) {
    throw new Error(`clusterScores must hold a multiple of ${p} values: ${clusterScores.length}`);
  }
  if (nClusters < 2) {
    return unavailable(
      'one-cluster',
      'all records belong to one group, so how far groups differ cannot be judged.',
    );
  }
  const meat = new Float64Array(p * p);
  for (let g = 0; g < nClusters; g++) {
    for (let i = 0; i < p; i++) {
      const score = clusterScores[g * p + i]!;
      for (let j = 0; j <= i; j++) meat[i * p + j]! += score * clusterScores[g * p + j]!;
    }
  }
  for (let i = 0; i < p; i++) for (let j = 0; j < i; j++) meat[j * p + i] = meat[i * p + j]!;
  const factor = options.smallSample === 'none' ? 1 : nClusters / (nClusters - 1);
  const covariance = multiply(multiply(bread, meat, p, p, p), bread, p, p, p);
  for (let i = 0; i < covariance.length; i++) covariance[i]! *= factor;
  return { covariance, nClusters };
}

/** Rows of `scores` (n × p) added up by cluster id, in order of first appearance: G × p. */
function sumByCluster(scores: Float64Array, cluster: Int32Array, p: number): Float64Array {
  if (scores.length !== cluster.length * p) {
    throw new Error(`scores must hold ${cluster.length * p} values: ${scores.length}`);
  }
  const { codes, count } = denseCodes(cluster);
  const sums = new Float64Array(count * p);
  for (let row = 0; row < cluster.length; row++) {
    const base = codes[row]! * p;
    for (let j = 0; j < p; j++) sums[base + j]! += scores[row * p + j]!;
  }
  return sums;
}

/** Any integer ids as 0 … count − 1, in order of first appearance; `ids[code]` is the id it stands for. */
export function denseCodes(ids: Int32Array): { codes: Int32Array; count: number; ids: Int32Array } {
  let most = -1;
  let least = 0;
  for (const id of ids) {
    if (id > most) most = id;
    if (id < least) least = id;
  }
  // Ids are mostly codes themselves: an array serves where it is not much longer than they are.
  const known =
    least === 0 && most < 4 * ids.length + 1024
      ? new Int32Array(most + 1).fill(-1)
      : new Map<number, number>();
  const seen: number[] = [];
  const codes = new Int32Array(ids.length);
  for (let row = 0; row < ids.length; row++) {
    const id = ids[row]!;
    let code: number | undefined = known instanceof Map ? known.get(id) : known[id]!;
    if (code === undefined || code < 0) {
      code = seen.length;
      seen.push(id);
      if (known instanceof Map) known.set(id, code);
      else known[id] = code;
    }
    codes[row] = code;
  }
  return { codes, count: seen.length, ids: Int32Array.from(seen) };
}

function widthOf(bread: SquareMatrix): number {
  const p = Math.round(Math.sqrt(bread.length));
  if (p * p !== bread.length) throw new Error(`bread must be square: ${bread.length} values`);
  return p;
}
