import { isUnavailable } from '../core/outcome.ts';
import { sandwichOfSums } from './cluster-covariance.ts';
import { dot, factorSpd, type SquareMatrix } from './linear-algebra.ts';
import { evaluateNested } from './nested-evaluate.ts';
import type { NestedRatios } from './nested-search.ts';
import {
  type NestedSlopesData,
  type NestedSums,
  nestedSums,
  RATE_DAYS,
  rateSums,
  rowDot,
} from './nested-sums.ts';

/** p × p covariance of a fit's β that trusts only that clusters are independent; null with one cluster. */
export function nestedRobustCovariance(
  data: NestedSlopesData,
  { beta, ratios }: { readonly beta: Float64Array; readonly ratios: NestedRatios },
): SquareMatrix | null {
  const crude = rateSums(data, beta.length);
  const sums = nestedSums(data, crude, factorSpd(crude.xx, crude.p)!);
  const { factor } = evaluateNested(sums, ratios.cluster, ratios.unit)!;
  const found = sandwichOfSums(factor.inverse(), nestedClusterScores(data, sums, ratios, beta));
  return isUnavailable(found) ? null : found.covariance;
}

/** X'V⁻¹(y − Xβ) of each cluster (times σ²): G × p, for a covariance that trusts only independent clusters. */
function nestedClusterScores(
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
  const within = variesWithin(data, sums);
  const nWithin = within.reduce((count, each) => count + each, 0);
  return Float64Array.from(within, (inside) =>
    Math.max(1, inside ? n - clusters - nWithin : clusters - (p - nWithin)),
  );
}

/** 1 for each column that is not constant in some cluster. Rows of a cluster mostly stand together. */
function variesWithin({ x }: NestedSlopesData, sums: NestedSums): Uint8Array {
  const { p, n, rowUnit, unitRow, clusterStart } = sums;
  const clusterOf = new Int32Array(unitRow.length);
  for (let g = 0; g + 1 < clusterStart.length; g++) clusterOf.fill(g, clusterStart[g]!, clusterStart[g + 1]!);
  const within = new Uint8Array(p);
  const constant = Int32Array.from({ length: p }, (_, j) => j);
  let left = p;
  let before = -1;
  for (let row = 0; row < n && left > 0; row++) {
    const g = clusterOf[rowUnit[row]!]!;
    const at = row * p;
    const other = g === before ? at - p : unitRow[clusterStart[g]!]! * p;
    before = g;
    for (let k = left - 1; k >= 0; k--) {
      const j = constant[k]!;
      if (x[at + j] === x[other + j]) continue;
      within[j] = 1;
      left -= 1;
      constant[k] = constant[left]!;
    }
  }
  return within;
}
