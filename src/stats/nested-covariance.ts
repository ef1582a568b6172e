import { dot } from './linear-algebra.ts';
import type { NestedRatios } from './nested-search.ts';
import { type NestedSlopesData, type NestedSums, RATE_DAYS, rowDot } from './nested-sums.ts';

/** X'V⁻¹(y − Xβ) of each cluster (times σ²): G × p, for a covariance that trusts only independent clusters. */
export function nestedClusterScores(
  data: NestedSlopesData,
  sums: NestedSums,
  ratios: NestedRatios,
  beta: Float64Array,
): Float64Array {
  const { p } = sums;
  const clusters = sums.clusterIds.length;
  const scores = new Float64Array(clusters * p);
  const clusterOfUnit = new Int32Array(sums.unitIds.length);
  for (let g = 0; g < clusters; g++) clusterOfUnit.fill(g, sums.clusterStart[g]!, sums.clusterStart[g + 1]!);
  for (let row = 0; row < sums.n; row++) {
    const z = data.days[row]! / RATE_DAYS;
    const residual = data.y[row]! - z * rowDot(data.x, row, p, beta);
    const base = clusterOfUnit[sums.rowUnit[row]!]! * p;
    for (let j = 0; j < p; j++) scores[base + j]! += z * data.x[row * p + j]! * residual;
  }
  const own = beta.map((value, j) => value - sums.base[j]!);
  const uh = new Float64Array(p);
  for (let g = 0; g < clusters; g++) {
    let [t, rh] = [0, 0];
    uh.fill(0);
    for (let unit = sums.clusterStart[g]!; unit < sums.clusterStart[g + 1]!; unit++) {
      const k = 1 / (1 + ratios.unit * sums.s[unit]!);
      const u = sums.u.subarray(unit * p, unit * p + p);
      const r = sums.v[unit]! - dot(u, own);
      t += k * sums.s[unit]!;
      rh += k * r;
      for (let j = 0; j < p; j++) {
        uh[j]! += k * u[j]!;
        scores[g * p + j]! -= ratios.unit * k * u[j]! * r;
      }
    }
    const c1 = ratios.cluster / (1 + ratios.cluster * t);
    for (let j = 0; j < p; j++) scores[g * p + j]! -= c1 * uh[j]! * rh;
  }
  return scores;
}

/**
 * "Between–within" degrees of freedom: a column that is constant in every cluster is judged by the number of
 * clusters, any other by the rows. Schluchter & Elashoff 1990, J Stat Comput Simul 37:69–87. One cluster: rows less p.
 */
export function nestedDegreesOfFreedom(data: NestedSlopesData, sums: NestedSums): Float64Array {
  const { n, p } = sums;
  const clusters = sums.clusterIds.length;
  if (clusters === 1) return new Float64Array(p).fill(n - p);
  const first = new Map<number, number>();
  const within = new Array<boolean>(p).fill(false);
  let constant = Array.from({ length: p }, (_, j) => j);
  let start = -1;
  for (let row = 0; row < n && constant.length > 0; row++) {
    if (row === 0 || data.cluster[row] !== data.cluster[row - 1]) start = first.get(data.cluster[row]!) ?? -1;
    if (start < 0) {
      first.set(data.cluster[row]!, row);
      start = row;
    }
    const turned = constant.filter((j) => data.x[row * p + j] !== data.x[start * p + j]);
    if (turned.length === 0) continue;
    for (const j of turned) within[j] = true;
    constant = constant.filter((j) => !within[j]);
  }
  const nWithin = within.filter(Boolean).length;
  return Float64Array.from(within, (inside) =>
    Math.max(1, inside ? n - clusters - nWithin : clusters - (p - nWithin)),
  );
}
