import { type Estimate, isUnavailable, type Outcome, unavailable } from '../core/outcome.ts';
import { chiSquareQuantile } from './distributions.ts';
import { factorSpd, type SquareMatrix } from './linear-algebra.ts';
import { evaluateSloped, slopeNested } from './nested-sloped.ts';
import type { NestedSlopesFit } from './nested-slopes.ts';
import { type NestedSlopesData, type NestedSums, nestedSums, rateSums } from './nested-sums.ts';
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
  return varianceIntervals(data, fit)(which);
}

/** The same of one variance after the other, of one look at the rows. */
export function varianceIntervals(
  data: NestedSlopesData,
  fit: NestedSlopesFit,
): (which: VarianceName) => Outcome<Estimate> {
  const p = fit.beta.length;
  const crude = rateSums(data, p);
  const sums = nestedSums(data, crude, factorSpd(crude.xx, p)!);
  return (which) => intervalOf(sums, fit, which);
}

function intervalOf(sums: NestedSums, fit: NestedSlopesFit, which: VarianceName): Outcome<Estimate> {
  if (which !== 'residual' && !fit.estimable[which]) {
    return unavailable(
      'one-cluster',
      'too little repeats in these records to tell this spread from the scatter of single measurements.',
    );
  }
  const estimate = fit.variances[which];
  const scale = Math.sqrt(Math.max(estimate, (0.05 * fit.variances.residual) / meanSquare(sums)));
  const profile = profiledCriterion(sums, fit, which);
  const reach = chiSquareQuantile(fit.confidence, 1);
  const drop = (root: number): Drop => {
    const { criterion, slope } = profile(root * root);
    return { excess: criterion - fit.criterion - reach, slope: 2 * root * slope };
  };
  const floor = which === 'residual' ? Math.sqrt(estimate) * 1e-3 : 0;
  const [low, high] = ([-1, 1] as const).map((side) =>
    crossing(drop, estimate, side * scale, floor, reach),
  ) as [number | null, number | null];
  if (high === null || low === null) {
    return unavailable('not-converged', 'the range of this spread could not be settled for these records.');
  }
  return { estimate, stdError: null, low: low * low, high: high * high };
}

/** How far a value's best criterion lies above the limit, and how that rises with the value. */
interface Drop {
  readonly excess: number;
  readonly slope: number;
}

/**
 * Least −2 REML log-likelihood with one variance held at a value, and its slope by that value: at the least, what the
 * other variances do adds nothing to it. Each search starts where the last one ended.
 */
function profiledCriterion(
  sums: NestedSums,
  fit: NestedSlopesFit,
  which: VarianceName,
): (value: number) => { readonly criterion: number; readonly slope: number } {
  const names = (['cluster', 'unit'] as const).filter((name) => name !== which && fit.estimable[name]);
  const freeResidual = which !== 'residual';
  const freedom = sums.n - sums.p;
  // In units of their own size and bounded at 0, where the criterion has a slope: a square root would creep towards it.
  const size = names.map((name) =>
    Math.max(fit.variances[name], (0.01 * fit.variances.residual) / meanSquare(sums)),
  );
  const told = (value: number, x: Float64Array) => {
    const residual = freeResidual ? Math.exp(x[x.length - 1]!) : value;
    const variance = (name: 'cluster' | 'unit') => {
      const i = names.indexOf(name);
      return i >= 0 ? x[i]! * size[i]! : name === which ? value : 0;
    };
    const [l1, l2] = [variance('cluster') / residual, variance('unit') / residual];
    const at = evaluateSloped(sums, l1, l2);
    if (!at) return { value: Number.POSITIVE_INFINITY, gradient: new Float64Array(x.length), held: 0 };
    const slope = slopeNested(at);
    const by = [0, 1].map((i) => slope.quadratic[i]! / residual + slope.logDeterminants[i]!);
    const ofLogResidual = freedom - at.quadratic / residual - by[0]! * l1 - by[1]! * l2;
    return {
      value: freedom * Math.log(2 * Math.PI * residual) + at.quadratic / residual + at.logDeterminants,
      gradient: Float64Array.from(x, (_, i) =>
        i < names.length ? (by[names[i] === 'cluster' ? 0 : 1]! * size[i]!) / residual : ofLogResidual,
      ),
      held: which === 'residual' ? ofLogResidual / value : by[which === 'cluster' ? 0 : 1]! / residual,
    };
  };
  const best = Float64Array.from([
    ...names.map((name, i) => fit.variances[name] / size[i]!),
    ...(freeResidual ? [Math.log(fit.variances.residual)] : []),
  ]);
  const lower = Float64Array.from(best, (_, i) => (i < names.length ? 0 : Number.NEGATIVE_INFINITY));
  const curved = curvature((x) => told(fit.variances[which], x).gradient, best);
  let start: Float64Array = best;
  return (value) => {
    let ofBest = Number.NaN;
    let least = Number.POSITIVE_INFINITY;
    let last: { readonly x: Float64Array; readonly told: ReturnType<typeof told> } | null = null;
    const objective = (x: Float64Array) => {
      // A search begins where it has just been looked: each look takes all units.
      if (last?.x.every((each, i) => each === x[i])) return last.told;
      const found = told(value, x);
      last = { x: x.slice(), told: found };
      if (found.value <= least) [least, ofBest] = [found.value, found.held];
      return found;
    };
    if (best.length === 0) return { criterion: objective(best).value, slope: ofBest };
    const from = Number.isFinite(objective(start).value) ? start : best;
    // So far from the estimate that the sums overflow: nothing can be told there.
    if (!Number.isFinite(objective(from).value)) return { criterion: Number.NaN, slope: Number.NaN };
    const quick = minimise(objective, from, { lower, hessian: () => curved, maxIterations: 30 });
    const again = (): Float64Array => (Number.isFinite(objective(best).value) ? best : from);
    const found = isUnavailable(quick) ? minimise(objective, again(), { lower }) : quick;
    if (isUnavailable(found)) return { criterion: Number.NaN, slope: Number.NaN };
    start = found.x;
    return { criterion: found.value, slope: ofBest };
  };
}

/** Second derivatives from differences of the gradient upwards, since 0 may be a wall: only the way of a search hangs on them. */
function curvature(gradient: (x: Float64Array) => Float64Array, x: Float64Array): SquareMatrix {
  const p = x.length;
  const here = gradient(x);
  const found = new Float64Array(p * p);
  for (let i = 0; i < p; i++) {
    const step = 1e-3 * Math.max(1, Math.abs(x[i]!));
    const moved = gradient(Float64Array.from(x, (value, j) => (j === i ? value + step : value)));
    for (let j = 0; j < p; j++) {
      found[i * p + j]! += (moved[j]! - here[j]!) / step / 2;
      found[j * p + i]! += (moved[j]! - here[j]!) / step / 2;
    }
  }
  return found;
}

/**
 * Where the excess is 0 on one side of the estimate; 0 where it is below 0 down to the floor. The root of the drop from the
 * least criterion is nearly straight: it says where to look next, until the place is past, and then by Newton's steps, or
 * halves where a step would leave the bracket.
 */
function crossing(
  drop: (root: number) => Drop,
  estimate: number,
  scale: number,
  floor: number,
  reach: number,
): number | null {
  const centre = Math.sqrt(estimate);
  if (scale < 0 && centre <= floor) return 0;
  let below = centre;
  let x = Math.max(floor, centre + 0.1 * scale);
  let found = drop(x);
  for (let i = 0; i < 60 && found.excess < 0; i++) {
    if (x === floor) return 0;
    below = x;
    const straight = 1.02 * Math.sqrt(reach / Math.max(found.excess + reach, 1e-300));
    x = Math.max(floor, centre + (x - centre) * Math.min(8, Math.max(1.2, straight)));
    found = drop(x);
  }
  let above = x;
  for (let i = 0; i < 100; i++) {
    if (!(Math.abs(found.excess) >= 1e-7)) return Number.isNaN(found.excess) ? null : x;
    if (found.excess < 0) below = x;
    else above = x;
    if (Math.abs(above - below) < 1e-9 * Math.abs(above + below)) return x;
    const depth = Math.sqrt(Math.max(found.excess + reach, 0));
    const next = x - ((depth - Math.sqrt(reach)) * 2 * depth) / found.slope;
    x = (next - below) * (next - above) < 0 ? next : (below + above) / 2;
    found = drop(x);
  }
  return x;
}

/** Mean Σz² of a unit: turns a variance of amounts into one of rates. */
function meanSquare(sums: NestedSums): number {
  return sums.s.reduce((sum, value) => sum + value, 0) / sums.s.length;
}
