import { type Estimate, type Outcome, unavailable } from '../core/outcome.ts';
import { denseCodes } from './cluster-covariance.ts';
import { normalMultiplier, studentMultiplier } from './distributions.ts';
import { wilsonOfShare } from './wilson.ts';

export interface ClusteredShare extends Estimate {
  readonly n: number;
  readonly nClusters: number;
  /** Variance of the share over that of as many independent rows; null where no row or every row is a success. */
  readonly designEffect: number | null;
  /** Independent rows that would say as much. */
  readonly effectiveN: number;
}

/** One 0/1 outcome a row, with the id of its cluster. */
export interface ClusteredOutcomes {
  readonly success: Uint8Array;
  readonly cluster: Int32Array;
  /** How many rows each stands for, 1 where absent. */
  readonly weight?: Float64Array;
}

/**
 * Share of rows with the outcome, rows being alike within clusters: linearised variance
 * G/(G−1) Σ_g (y_g − p n_g)² / n², design effect = that over p(1−p)/n (never taken below 1), Wilson interval on the
 * effective n, widened for few clusters by Student's multiplier with G − 1 degrees of freedom. With no success, or
 * nothing else, the variance says nothing: then each cluster counts as one row, which is the cautious end.
 * Typed `no-rows`, `one-cluster`. Korn & Graubard 1998, Surv Methodol 24:193–201; Dean & Pagano 2015, J Surv Stat
 * Methodol 3:484–503; Kish 1965, Survey Sampling.
 */
export function clusteredShare(data: ClusteredOutcomes, confidence = 0.95): Outcome<ClusteredShare> {
  const { n, nClusters, share, influence } = linearised(data);
  if (n === 0) return unavailable('no-rows', 'there are no records here to take a share of.');
  if (nClusters < 2) return oneCluster();
  const variance = sumOfSquares(influence) * (nClusters / (nClusters - 1));
  const simple = (share * (1 - share)) / n;
  const designEffect = simple > 0 ? variance / simple : null;
  const effectiveN = designEffect === null ? nClusters : n / Math.max(1, designEffect);
  const multiplier = studentMultiplier(nClusters - 1, confidence);
  // Korn and Graubard: fewer clusters, fewer effective rows.
  const usedN = effectiveN * (normalMultiplier(confidence) / multiplier) ** 2;
  return {
    ...wilsonOfShare(share, usedN, normalMultiplier(confidence)),
    stdError: simple > 0 ? Math.sqrt(Math.max(variance, simple)) : null,
    n,
    nClusters,
    designEffect,
    effectiveN,
  };
}

export interface ShareContrast {
  /** Share a less share b. */
  readonly difference: Estimate;
  /** Share a over share b; null where either is 0. */
  readonly ratio: Estimate | null;
  readonly nClusters: number;
}

/**
 * Share of a against share of b where a cluster may have rows in both: linearised within clusters over both, so that a
 * cluster is compared with itself where it can be. Student intervals, the ratio's on the logarithm, with one degree of
 * freedom less than the clusters of the smaller side: a side of one cluster has that cluster's share exactly, so that its
 * part of the variance is 0, and of few nearly so. Typed `no-rows`, `one-cluster` (either side), `no-events`,
 * `all-events`. Binder 1983, Int Stat Rev 51:279–292.
 */
export function clusteredContrast(
  a: ClusteredOutcomes,
  b: ClusteredOutcomes,
  confidence = 0.95,
): Outcome<ShareContrast> {
  const [one, two] = [linearised(a), linearised(b)];
  if (one.n === 0 || two.n === 0) return unavailable('no-rows', 'one of the two groups has no records.');
  const place = new Map<number, number>();
  for (const { ids } of [one, two]) for (const id of ids) if (!place.has(id)) place.set(id, place.size);
  const nClusters = place.size;
  if (nClusters < 2) return oneCluster();
  if (one.share + two.share === 0) return unavailable('no-events', 'neither group has a single case.');
  if (one.share + two.share === 2) return unavailable('all-events', 'every record of both groups is a case.');
  const fewer = Math.min(one.nClusters, two.nClusters);
  if (fewer < 2) return oneCluster('all records of one side belong to one group');
  const [first, second] = [placed(one, place), placed(two, place)];
  const factor = nClusters / (nClusters - 1);
  const multiplier = studentMultiplier(fewer - 1, confidence);
  const error = (weightA: number, weightB: number) => {
    let sum = 0;
    for (let g = 0; g < nClusters; g++) sum += (weightA * first[g]! - weightB * second[g]!) ** 2;
    return Math.sqrt(factor * sum);
  };
  const difference = one.share - two.share;
  const stdError = error(1, 1);
  return {
    difference: {
      estimate: difference,
      stdError,
      low: Math.max(-1, difference - multiplier * stdError),
      high: Math.min(1, difference + multiplier * stdError),
    },
    ratio: one.share === 0 || two.share === 0 ? null : logRatio(),
    nClusters,
  };

  function logRatio(): Estimate {
    const ratio = one.share / two.share;
    const reach = Math.exp(multiplier * error(1 / one.share, 1 / two.share));
    return {
      estimate: ratio,
      stdError: ratio * error(1 / one.share, 1 / two.share),
      low: ratio / reach,
      high: ratio * reach,
    };
  }
}

/** The share and each cluster's influence (y_g − p n_g)/n on it. */
function linearised({ success, cluster, weight }: ClusteredOutcomes) {
  const { length } = success;
  if (cluster.length !== length) throw new Error(`cluster must hold ${length} values: ${cluster.length}`);
  if (weight && weight.length !== length)
    throw new Error(`weight must hold ${length} values: ${weight.length}`);
  const { codes, count, ids } = denseCodes(cluster);
  let n = 0;
  let events = 0;
  for (let row = 0; row < length; row++) {
    const value = success[row]!;
    if (value !== 0 && value !== 1) throw new Error(`success must be 0 or 1: ${value}`);
    const times = weight ? weight[row]! : 1;
    n += times;
    events += times * value;
  }
  const share = n === 0 ? 0 : events / n;
  const influence = new Float64Array(count);
  for (let row = 0; row < length; row++) {
    influence[codes[row]!]! += ((weight ? weight[row]! : 1) * (success[row]! - share)) / n;
  }
  return { n, nClusters: count, ids, share, influence };
}

/** Influences at the places of their clusters; 0 of those without a row. */
function placed({ ids, influence }: ReturnType<typeof linearised>, place: ReadonlyMap<number, number>) {
  const found = new Float64Array(place.size);
  for (let i = 0; i < ids.length; i++) found[place.get(ids[i]!)!] = influence[i]!;
  return found;
}

function sumOfSquares(values: Float64Array): number {
  return values.reduce((sum, value) => sum + value * value, 0);
}

function oneCluster(which = 'all records belong to one group') {
  return unavailable('one-cluster', `${which}, so how far groups differ cannot be judged.`);
}
