import type { NestedSums } from './nested-sums.ts';

/** A function of two variance ratios with first derivatives by them, and second ones in the order 11, 12, 22. */
export interface HeldCriterion {
  readonly value: number;
  readonly gradient: readonly [number, number];
  readonly curvature: readonly [number, number, number];
}

/**
 * The criterion of `evaluateNested` with β held at its least-squares value and without log|A|: no matrix is needed, and
 * from a thousand units on the curvature is that of the criterion itself but for about p in so many units. Per unit
 * k = 1/(1 + λ2S); per cluster T = ΣkS, r = Σkv and h = 1/(1 + λ1T), of which T and r have derivatives by λ2.
 */
export function heldCriterion(sums: NestedSums, l1: number, l2: number): HeldCriterion {
  const { s, v, clusterStart } = sums;
  let q = sums.yy;
  let q1 = 0;
  let q2 = 0;
  let q11 = 0;
  let q12 = 0;
  let q22 = 0;
  let logs = 0;
  let d1 = 0;
  let d2 = 0;
  let d11 = 0;
  let d12 = 0;
  let d22 = 0;
  for (let g = 0; g + 1 < clusterStart.length; g++) {
    let t = 0;
    let t2 = 0;
    let t22 = 0;
    let r = 0;
    let r2 = 0;
    let r22 = 0;
    let product = 1;
    for (let unit = clusterStart[g]!; unit < clusterStart[g + 1]!; unit++) {
      const su = s[unit]!;
      const factor = 1 + l2 * su;
      const k = 1 / factor;
      const ks = k * su;
      const kv = k * v[unit]!;
      product *= factor;
      // A product of many would run over.
      if (product > 1e100) {
        logs += Math.log(product);
        product = 1;
      }
      q -= l2 * kv * v[unit]!;
      q2 -= kv * kv;
      q22 += 2 * ks * kv * kv;
      d2 += ks;
      d22 -= ks * ks;
      t += ks;
      t2 -= ks * ks;
      t22 += 2 * ks * ks * ks;
      r += kv;
      r2 -= ks * kv;
      r22 += 2 * ks * ks * kv;
    }
    const h = 1 / (1 + l1 * t);
    const c = l1 * h;
    const rr = r * r;
    logs += Math.log(product * (1 + l1 * t));
    q -= c * rr;
    q1 -= h * h * rr;
    q11 += 2 * t * h * h * h * rr;
    q2 -= 2 * c * r * r2 - c * c * t2 * rr;
    q12 -= 2 * h * h * (r * r2 - c * t2 * rr);
    q22 -= 2 * c * (r2 * r2 + r * r22) - c * c * (4 * t2 * r * r2 + t22 * rr) + 2 * c * c * c * t2 * t2 * rr;
    d1 += h * t;
    d11 -= h * h * t * t;
    d2 += c * t2;
    d12 += h * h * t2;
    d22 += c * t22 - c * c * t2 * t2;
  }
  const freedom = sums.n - sums.p;
  return {
    value: freedom * Math.log(q) + logs,
    gradient: [(freedom * q1) / q + d1, (freedom * q2) / q + d2],
    curvature: [
      freedom * (q11 / q - (q1 / q) ** 2) + d11,
      freedom * (q12 / q - (q1 * q2) / (q * q)) + d12,
      freedom * (q22 / q - (q2 / q) ** 2) + d22,
    ],
  };
}

/**
 * Variance ratios by moments: Σy², Σv²/S over units and Σ(Σv)²/ΣS over clusters set to what they are on average
 * (Henderson 1953, Biometrics 9:226–252, method 1, with β taken as known). Null where one comes out at 0 or below.
 */
export function momentRatios({ n, yy, s, v, clusterStart }: NestedSums): readonly [number, number] | null {
  const clusters = clusterStart.length - 1;
  let units = 0;
  let ofUnits = 0;
  let ofClusters = 0;
  let total = 0;
  let spread = 0;
  for (let g = 0; g < clusters; g++) {
    let sg = 0;
    let vg = 0;
    let ss = 0;
    for (let unit = clusterStart[g]!; unit < clusterStart[g + 1]!; unit++) {
      const su = s[unit]!;
      if (su === 0) continue;
      units += 1;
      ofUnits += (v[unit]! * v[unit]!) / su;
      sg += su;
      vg += v[unit]!;
      ss += su * su;
    }
    if (sg === 0) continue;
    ofClusters += (vg * vg) / sg;
    spread += ss / sg;
    total += sg;
  }
  const residual = (yy - ofUnits) / (n - units);
  const both = (ofUnits - units * residual) / total;
  // Σ(Σv)²/ΣS is G·σ² + φ²·spread + τ²·total, and both is φ² + τ².
  const unit = (both * total - (ofClusters - clusters * residual)) / (total - spread);
  const ratios = [(both - unit) / residual, unit / residual] as const;
  return ratios.every((ratio) => ratio > 0 && ratio < Number.POSITIVE_INFINITY) ? ratios : null;
}
