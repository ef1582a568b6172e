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
    unitShrinkage: new Float64Array(units),
    unitWeights: new Float64Array(units * p),
  };
  const k = result.unitShrinkage;
  for (let unit = 0; unit < units; unit++) k[unit] = 1 / (1 + ratios.unit * sums.s[unit]!);
  const { own } = sums;
  // What is left of each unit when β's part is taken out, and of the weights the columns that its cluster has.
  const rest = new Float64Array(units);
  const w = new Float64Array(p);
  for (let g = 0; g < clusters; g++) {
    const from = sums.clusterStart[g]!;
    const to = sums.clusterStart[g + 1]!;
    const first = own.columnStart[g]!;
    const m = own.columnStart[g + 1]! - first;
    let t = 0;
    let rh = 0;
    w.fill(0, 0, m);
    for (let unit = from, at = own.valueStart[g]!; unit < to; unit++) {
      let left = sums.v[unit]!;
      for (let j = 0; j < m; j++, at++) {
        left -= own.values[at]! * beta[own.columns[first + j]!]!;
        w[j]! += k[unit]! * own.values[at]!;
      }
      rest[unit] = left;
      t += k[unit]! * sums.s[unit]!;
      rh += k[unit]! * left;
    }
    const c1 = ratios.cluster / (1 + ratios.cluster * t);
    for (let j = 0; j < m; j++) {
      w[j]! *= c1;
      result.clusterWeights[g * p + own.columns[first + j]!] = w[j]!;
    }
    result.clusterEffects[g] = c1 * rh;
    result.clusterVariances[g] = residual * c1;
    for (let unit = from, at = own.valueStart[g]!; unit < to; unit++) {
      const c2 = ratios.unit * k[unit]!;
      const s = sums.s[unit]!;
      result.unitCluster[unit] = g;
      result.unitEffects[unit] = c2 * (rest[unit]! - s * c1 * rh);
      for (let j = 0; j < m; j++, at++) {
        result.unitWeights[unit * p + own.columns[first + j]!] = c2 * (own.values[at]! - s * w[j]!);
      }
    }
  }
  return result;
}
