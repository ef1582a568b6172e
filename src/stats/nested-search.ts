import { isUnavailable } from '../core/outcome.ts';
import { cornerRatios } from './nested-corner.ts';
import { evaluateNested } from './nested-evaluate.ts';
import { newtonRatios } from './nested-newton.ts';
import { criterionSlope, evaluateSloped } from './nested-sloped.ts';
import type { NestedSums } from './nested-sums.ts';
import { minimise } from './optimise.ts';

/** Variances relative to σ²; 0 where not estimable or at the boundary. */
export interface NestedRatios {
  readonly cluster: number;
  readonly unit: number;
  readonly estimable: { readonly cluster: boolean; readonly unit: boolean };
}

/** Grid of square roots of variance ratios, in units where 1 means "as informative as the unit's own rows". */
const GRID = [0, 0.3, 1, 4, 20];
/** So many units leave no room for a second hollow: there the grid is searched along its two lines alone. */
const MOST_GRID_UNITS = 1000;
const LIMIT = 1e4;
/** A square root below this is tried as an exact zero. */
const NEAR_ZERO = 0.02;
/** Of many units, square roots above this are far from having an exact zero as a rival. */
const CLEAR_OF_ZERO = 0.1;

/**
 * The pair of variance ratios with the smallest criterion over a box that includes 0: grid, then BFGS on the square
 * roots (the criterion is even and smooth in them, so zero is no wall), then zeros tried exactly and kept where
 * the criterion does not fall on leaving them. A search on logarithms would never reach 0. Of many units Newton's steps
 * are tried first, from moments and from where both are 0.
 */
export function searchRatios(sums: NestedSums): NestedRatios {
  const estimable = estimableVariances(sums);
  const free = [estimable.cluster, estimable.unit];
  if (!free[0] && !free[1]) return { cluster: 0, unit: 0, estimable };
  const units = sums.unitIds.length;
  const total = sums.s.reduce((sum, value) => sum + value, 0);
  const scale = [sums.clusterIds.length / total, units / total];
  if (units > MOST_GRID_UNITS && free.every(Boolean)) {
    const quick = newtonRatios(sums);
    const isInside = quick?.every((value, i) => value > CLEAR_OF_ZERO ** 2 * scale[i]!);
    if (quick && isInside) return { cluster: quick[0], unit: quick[1], estimable };
    // Near an edge there may be a hollow on either side of it.
    const known = [quick, cornerRatios(sums, [scale[0]!, scale[1]!])].filter((ratios) => ratios !== null);
    if (known.length > 0) {
      const least = known.map(
        (ratios) => evaluateNested(sums, ...ratios)?.criterion ?? Number.POSITIVE_INFINITY,
      );
      const [cluster, unit] = known[least.indexOf(Math.min(...least))]!;
      return { cluster, unit, estimable };
    }
  }
  const ratio = (theta: ArrayLike<number>, i: number) => theta[i]! ** 2 * scale[i]!;
  const evaluate = (theta: ArrayLike<number>) => evaluateNested(sums, ratio(theta, 0), ratio(theta, 1));
  const value = (theta: ArrayLike<number>) => evaluate(theta)?.criterion ?? Number.POSITIVE_INFINITY;

  let best = [0, 0];
  let least = value(best);
  const consider = (theta: number[]) => {
    const here = value(theta);
    if (here < least) [best, least] = [theta, here];
  };
  const [across, down] = free.map((open) => (open ? GRID : [0])) as [number[], number[]];
  if (units <= MOST_GRID_UNITS) for (const a of across) for (const b of down) consider([a, b]);
  else {
    for (const a of across) consider([a, Math.min(1, down.at(-1)!)]);
    for (const b of down) consider([best[0]!, b]);
  }

  const polish = (start: number[], open: boolean[]) => {
    const index = [0, 1].filter((i) => open[i]);
    const full = (x: Float64Array) => {
      const theta = [...start];
      index.forEach((i, k) => {
        theta[i] = x[k]!;
      });
      return theta;
    };
    const found = minimise(
      (x) => {
        const theta = full(x);
        const isNear = theta.every((v) => Math.abs(v) < LIMIT);
        const at = isNear ? evaluateSloped(sums, ratio(theta, 0), ratio(theta, 1)) : null;
        if (!at) return { value: Number.POSITIVE_INFINITY, gradient: new Float64Array(index.length) };
        const slope = criterionSlope(sums, at);
        return {
          value: at.criterion,
          gradient: Float64Array.from(index, (i) => slope[i]! * 2 * theta[i]! * scale[i]!),
        };
      },
      Float64Array.from(index, (i) => start[i]!),
      { gradientTolerance: 1e-9 },
    );
    if (!isUnavailable(found)) consider(full(found.x).map(Math.abs));
  };
  polish(
    best.map((v, i) => (free[i] ? Math.max(v, 0.1) : 0)),
    free,
  );

  // Zero is tried exactly: there the descent only creeps, and a variance of 1e-9 is no finding.
  for (const zeros of [[0], [1], [0, 1]]) {
    if (zeros.some((i) => !free[i] || best[i]! >= NEAR_ZERO)) continue;
    const at = best.map((v, i) => (zeros.includes(i) ? 0 : v));
    if (value(at) <= least + 1e-9 * Math.max(1, Math.abs(least))) [best, least] = [at, value(at)];
    const open = [0, 1].map((i) => free[i]! && !zeros.includes(i));
    if (open.some(Boolean)) polish(at, open);
  }
  return { cluster: ratio(best, 0), unit: ratio(best, 1), estimable };
}

/**
 * A cluster variance needs two clusters and a cluster with two rows; a unit variance also a cluster with two units
 * and a unit with two rows: otherwise it cannot be told from the variance above or below it.
 */
function estimableVariances(sums: NestedSums): { cluster: boolean; unit: boolean } {
  const clusters = sums.clusterIds.length;
  let repeatedRows = false;
  let repeatedUnits = false;
  for (let g = 0; g < clusters; g++) {
    const from = sums.clusterStart[g]!;
    const to = sums.clusterStart[g + 1]!;
    let rows = 0;
    for (let unit = from; unit < to; unit++) rows += sums.unitRows[unit]!;
    repeatedUnits ||= to - from > 1;
    repeatedRows ||= rows > 1;
  }
  const cluster = clusters > 1 && repeatedRows;
  return { cluster, unit: cluster && repeatedUnits && sums.unitRows.some((rows) => rows > 1) };
}
