import type { IntervalData } from './interval-data.ts';
import {
  type DistinctIntervals,
  distinctIntervals,
  distinctWeights,
  type Support,
  supportOf,
} from './interval-support.ts';
import { solveNpmle } from './npmle-solver.ts';

export type Side = 'low' | 'high';

const SOLVE = { tolerance: 1e-7, maxIterations: 5_000 };
/** Weight of the two rows that split the line at t: enough to place mass on either side, too little to count. */
const MARK = 1e-9;

/**
 * Likelihood-ratio limit of F(t): the value where twice the fall of the nonparametric log-likelihood, maximised
 * with F(t) held there, reaches −2 log(tail), times a design effect for clusters. For none of n rows known at t this
 * is the exact binomial limit 1 − tail^(1/n); with more events it is wider than chi-square would have it. Unlike the
 * bootstrap it stays honest where hardly any end lies near t (Banerjee & Wellner 2001, Ann Stat 29:1699–1731).
 *
 * `clusterOf` holds row → 0 … count − 1 (−1 for rows of weight 0). Returns 0 or 1 where the rows set no limit.
 */
export function shareLimit(
  data: IntervalData,
  clusterOf: Int32Array,
  t: number,
  side: Side,
  from: number,
  tail: number,
): number {
  const { distinct, support, split } = splitAt(data, t);
  const free = solveNpmle(support, SOLVE).logLikelihood;
  const threshold = -2 * Math.log(tail);
  const beyond = (share: number): boolean => {
    const fit = solveNpmle(support, SOLVE, undefined, { split, share });
    const effect = designEffect(data, distinct, support, fit.mass, clusterOf, t, share);
    return 2 * (free - fit.logLikelihood) > threshold * effect;
  };
  const end = side === 'high' ? 1 : 0;
  let inside = from;
  let outside = end + (side === 'high' ? -1e-6 : 1e-6);
  if (!beyond(outside)) return end;
  while (Math.abs(outside - inside) > 1e-5) {
    const middle = (inside + outside) / 2;
    if (beyond(middle)) outside = middle;
    else inside = middle;
  }
  return outside;
}

/** The support with a cut at t, and how many of its innermost intervals lie before it. */
function splitAt({ left, right, weight }: IntervalData, t: number) {
  const n = left.length;
  const extended = {
    left: Float64Array.from({ length: n + 2 }, (_, i) => (i < n ? left[i]! : i === n ? 0 : t)),
    right: Float64Array.from({ length: n + 2 }, (_, i) =>
      i < n ? right[i]! : i === n ? t : Number.POSITIVE_INFINITY,
    ),
  };
  const weights = Float64Array.from({ length: n + 2 }, (_, i) => (i < n ? (weight?.[i] ?? 1) : MARK));
  const distinct = distinctIntervals(extended);
  const support = supportOf(distinct, distinctWeights(distinct, weights));
  const cut = closePosition(distinct, t);
  return { distinct, support, split: support.closeAt.filter((position) => position <= cut).length };
}

function closePosition({ times }: DistinctIntervals, t: number): number {
  return 3 * times.indexOf(t) + 1;
}

/**
 * How much more the score of F(t) varies between clusters than between rows taken one by one, at least 1: with π the
 * row's chance of having had the event by t given its interval, the score is π/F − (1 − π)/(1 − F).
 */
function designEffect(
  { left, weight }: IntervalData,
  distinct: DistinctIntervals,
  support: Support,
  mass: Float64Array,
  clusterOf: Int32Array,
  t: number,
  share: number,
): number {
  const upTo = new Float64Array(3 * distinct.times.length);
  for (let at = 0, j = 0, sum = 0; at < upTo.length; at += 1) {
    if (j < mass.length && support.closeAt[j] === at) {
      sum += mass[j]!;
      j += 1;
    }
    upTo[at] = sum;
  }
  const cut = closePosition(distinct, t);
  const sums = new Map<number, number>();
  const n = left.length;
  let single = 0;
  for (let i = 0; i < n; i += 1) {
    const c = clusterOf[i]!;
    if (c < 0) continue;
    const open = distinct.openAt[distinct.ofRow[i]!]!;
    const close = distinct.closeAt[distinct.ofRow[i]!]!;
    const by = upTo[Math.min(close, cut)]! - upTo[Math.min(open, cut)]!;
    const chance = by / (upTo[close]! - upTo[open]!);
    const score = (weight?.[i] ?? 1) * (chance / share - (1 - chance) / (1 - share));
    single += score * score;
    sums.set(c, (sums.get(c) ?? 0) + score);
  }
  let between = 0;
  for (const sum of sums.values()) between += sum * sum;
  return single > 0 ? Math.max(1, between / single) : 1;
}
