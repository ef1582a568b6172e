import { type Estimate, isUnavailable, type Outcome, unavailable } from '../core/outcome.ts';
import { chiSquareQuantile } from './distributions.ts';
import { factorSpd } from './linear-algebra.ts';
import type { NestedSlopesFit } from './nested-slopes.ts';
import {
  evaluateNested,
  type NestedSlopesData,
  type NestedSums,
  nestedSums,
  rateCrossProduct,
  slopeNested,
} from './nested-sums.ts';
import { minimise } from './optimise.ts';

export type VarianceName = 'cluster' | 'unit' | 'residual';

/**
 * Interval for one variance of a fit by the profiled REML likelihood: every value whose best criterion lies within
 * the chi-square (1 degree of freedom) quantile of the least one. Not symmetric, and starts at exactly 0 where no
 * variance at all is as good. `data` must be what was fitted. Typed `one-cluster` for a variance that the layout
 * of the rows cannot show. Venzon & Moolgavkar 1988, Appl Stat 37:87–94.
 */
export function varianceInterval(
  data: NestedSlopesData,
  fit: NestedSlopesFit,
  which: VarianceName,
): Outcome<Estimate> {
  if (which !== 'residual' && !fit.estimable[which]) {
    return unavailable(
      'one-cluster',
      'too little repeats in these records to tell this spread from the scatter of single measurements.',
    );
  }
  const p = fit.beta.length;
  const xx = rateCrossProduct(data, p);
  const sums = nestedSums(data, xx, factorSpd(xx, p)!);
  const estimate = fit.variances[which];
  const scale = Math.sqrt(Math.max(estimate, (0.05 * fit.variances.residual) / meanSquare(sums)));
  const limit = fit.criterion + chiSquareQuantile(fit.confidence, 1);
  const excess = (root: number) => profiledCriterion(sums, fit, which, root * root) - limit;

  const centre = Math.sqrt(estimate);
  let far = centre + 0.5 * scale;
  for (let i = 0; i < 60 && excess(far) < 0; i++) far = centre + 2 * (far - centre);
  const high = crossing(excess, centre, far);
  const floor = which === 'residual' ? centre * 1e-3 : 0;
  const low = centre <= floor || excess(floor) < 0 ? 0 : crossing(excess, centre, floor);
  if (high === null || low === null) {
    return unavailable('not-converged', 'the range of this spread could not be settled for these records.');
  }
  return { estimate, stdError: null, low: low * low, high: high * high };
}

/** Least −2 REML log-likelihood with one variance held at `value`. */
function profiledCriterion(
  sums: NestedSums,
  fit: NestedSlopesFit,
  which: VarianceName,
  value: number,
): number {
  const names = (['cluster', 'unit'] as const).filter((name) => name !== which && fit.estimable[name]);
  const freeResidual = which !== 'residual';
  const freedom = sums.n - sums.p;
  // In units of their own size and bounded at 0, where the criterion has a slope: a square root would creep towards it.
  const size = names.map((name) =>
    Math.max(fit.variances[name], (0.01 * fit.variances.residual) / meanSquare(sums)),
  );
  const parts = (x: Float64Array) => {
    const residual = freeResidual ? Math.exp(x[x.length - 1]!) : value;
    const held = (name: 'cluster' | 'unit') => (name === which ? value : 0);
    const variance = (name: 'cluster' | 'unit') => {
      const i = names.indexOf(name);
      return i < 0 ? held(name) : x[i]! * size[i]!;
    };
    return { residual, l1: variance('cluster') / residual, l2: variance('unit') / residual };
  };
  const start = [
    ...names.map((name, i) => fit.variances[name] / size[i]!),
    ...(freeResidual ? [Math.log(fit.variances.residual)] : []),
  ];
  const objective = (x: Float64Array) => {
    const { residual, l1, l2 } = parts(x);
    const at = evaluateNested(sums, l1, l2);
    if (!at) return { value: Number.POSITIVE_INFINITY, gradient: new Float64Array(x.length) };
    const slope = slopeNested(sums, l1, l2, at);
    const by = [0, 1].map((i) => slope.quadratic[i]! / residual + slope.logDeterminants[i]!);
    const gradient = Float64Array.from(x, (_, i) =>
      i < names.length
        ? (by[names[i] === 'cluster' ? 0 : 1]! * size[i]!) / residual
        : freedom - at.quadratic / residual - by[0]! * l1 - by[1]! * l2,
    );
    return {
      value: freedom * Math.log(2 * Math.PI * residual) + at.quadratic / residual + at.logDeterminants,
      gradient,
    };
  };
  if (start.length === 0) return objective(new Float64Array(0)).value;
  const lower = Float64Array.from(start, (_, i) => (i < names.length ? 0 : Number.NEGATIVE_INFINITY));
  const found = minimise(objective, Float64Array.from(start), { lower });
  return isUnavailable(found) ? Number.NaN : found.value;
}

/** Where f changes sign between a (f < 0) and b (f > 0): regula falsi, Illinois form. */
function crossing(f: (x: number) => number, a: number, b: number): number | null {
  let [low, high] = [a, b];
  let [fl, fh, side] = [f(low), f(high), 0];
  if (!(fl < 0 && fh > 0)) return null;
  for (let i = 0; i < 100; i++) {
    const x = (low * fh - high * fl) / (fh - fl);
    const fx = f(x);
    if (Number.isNaN(fx)) return null;
    if (Math.abs(fx) < 1e-7 || Math.abs(high - low) < 1e-9 * Math.abs(high + low)) return x;
    if (fx < 0) {
      if (side < 0) fh /= 2;
      [low, fl, side] = [x, fx, -1];
    } else {
      if (side > 0) fl /= 2;
      [high, fh, side] = [x, fx, 1];
    }
  }
  return (low + high) / 2;
}

/** Mean Σz² of a unit: turns a variance of amounts into one of rates. */
function meanSquare(sums: NestedSums): number {
  return sums.s.reduce((sum, value) => sum + value, 0) / sums.s.length;
}
