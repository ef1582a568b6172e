import { dot } from './linear-algebra.ts';
import type { NestedRatios } from './nested-search.ts';
import type { NestedSums } from './nested-sums.ts';

/** Predicted effects (BLUPs) and what is needed for their prediction variances. */
export interface NestedEffects {
  /** G ids, ascending. */
  readonly clusterIds: Int32Array;
  /** û: how far each cluster's rate lies from x'β. */
  readonly clusterEffects: Float64Array;
  /** Var(u − û) were β known. */
  readonly clusterVariances: Float64Array;
  /** G × p: how û falls as β rises. */
  readonly clusterWeights: Float64Array;
  /** U ids, by cluster and then ascending. */
  readonly unitIds: Int32Array;
  /** Place of each unit's cluster in `clusterIds`. */
  readonly unitCluster: Int32Array;
  /** v̂: how far each unit's rate lies from its cluster's. */
  readonly unitEffects: Float64Array;
  /** k = 1/(1 + λ2S): the share of the unit's own record that is shrunk away. */
  readonly unitShrinkage: Float64Array;
  /** U × p: how v̂ falls as β rises. */
  readonly unitWeights: Float64Array;
}

/** û = c1(vh − Uh'β); v̂ = c2(v − U'β − Sû). Robinson 1991, Stat Sci 6:15–32. */
export function nestedEffects(
  sums: NestedSums,
  ratios: NestedRatios,
  beta: Float64Array,
  residual: number,
): NestedEffects {
  const { p } = sums;
  const clusters = sums.clusterIds.length;
  const units = sums.unitIds.length;
  const result = {
    clusterIds: sums.clusterIds,
    clusterEffects: new Float64Array(clusters),
    clusterVariances: new Float64Array(clusters),
    clusterWeights: new Float64Array(clusters * p),
    unitIds: sums.unitIds,
    unitCluster: new Int32Array(units),
    unitEffects: new Float64Array(units),
    unitShrinkage: sums.s.map((s) => 1 / (1 + ratios.unit * s)),
    unitWeights: new Float64Array(units * p),
  };
  const k = result.unitShrinkage;
  for (let g = 0; g < clusters; g++) {
    const [from, to] = [sums.clusterStart[g]!, sums.clusterStart[g + 1]!];
    let t = 0;
    let rh = 0;
    const w = result.clusterWeights.subarray(g * p, g * p + p);
    for (let unit = from; unit < to; unit++) {
      const own = sums.u.subarray(unit * p, unit * p + p);
      t += k[unit]! * sums.s[unit]!;
      rh += k[unit]! * (sums.v[unit]! - dot(own, beta));
      for (let j = 0; j < p; j++) w[j]! += k[unit]! * own[j]!;
    }
    const c1 = ratios.cluster / (1 + ratios.cluster * t);
    for (let j = 0; j < p; j++) w[j]! *= c1;
    result.clusterEffects[g] = c1 * rh;
    result.clusterVariances[g] = residual * c1;
    for (let unit = from; unit < to; unit++) {
      const own = sums.u.subarray(unit * p, unit * p + p);
      const c2 = ratios.unit * k[unit]!;
      result.unitCluster[unit] = g;
      result.unitEffects[unit] = c2 * (sums.v[unit]! - dot(own, beta) - sums.s[unit]! * c1 * rh);
      for (let j = 0; j < p; j++) result.unitWeights[unit * p + j] = c2 * (own[j]! - sums.s[unit]! * w[j]!);
    }
  }
  return result;
}
