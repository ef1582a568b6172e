import type { IntervalData } from './interval-data.ts';
import {
  type DistinctIntervals,
  distinctIntervals,
  distinctWeights,
  type Support,
  supportOf,
} from './interval-support.ts';
import { solveNpmle } from './npmle-solver.ts';

/** One limit that is wanted. Numbers only: any thread can look for it. */
export interface LimitTask {
  readonly data: IntervalData;
  /** Row → 0 … count − 1; −1 for rows of weight 0. */
  readonly clusterOf: Int32Array;
  /** In the unit of the ends. */
  readonly at: number;
  readonly side: 'low' | 'high';
  /** The estimate: the limit lies at it or beyond. */
  readonly from: number;
  /** Chance left beyond the limit. */
  readonly tail: number;
}

const SOLVE = { tolerance: 1e-7, maxIterations: 5_000 };
/** Weight of the two rows that split the line at t: enough to place mass on either side, too little to count. */
const MARK = 1e-9;

/**
 * Likelihood-ratio limit of F(t): the value where twice the fall of the nonparametric log-likelihood, maximised
 * with F(t) held there, reaches −2 log(tail), times a design effect for clusters. For none of n rows known at t this
 * is the exact binomial limit 1 − tail^(1/n); with more events it is wider than chi-square would have it. Unlike the
 * bootstrap it stays honest where hardly any end lies near t (Banerjee & Wellner 2001, Ann Stat 29:1699–1731).
 *
 * Returns 0 or 1 where the rows set no limit.
 */
export function shareLimit({ data, clusterOf, at: t, side, from, tail }: LimitTask): number {
  const { distinct, support, split } = splitAt(data, t);
  const free = solveNpmle(support, SOLVE);
  const threshold = -2 * Math.log(tail);
  let near = free.mass;
  /** Above 0 beyond the limit. */
  const excess = (share: number): number => {
    const fit = solveNpmle(support, SOLVE, nearly(near), { split, share });
    near = fit.mass;
    const effect = designEffect(data, distinct, support, fit.mass, clusterOf, t, share);
    return (2 * (free.logLikelihood - fit.logLikelihood)) / effect - threshold;
  };
  const end = side === 'high' ? 1 : 0;
  const outside = end + (side === 'high' ? -1e-6 : 1e-6);
  const beyond = excess(outside);
  return beyond > 0 ? firstBeyond(excess, from, outside, beyond, -threshold) : end;
}

/** Wanted of the limit. */
const CLOSE = 1e-5;

/**
 * The share beyond the limit that lies within `CLOSE` of one that is not: by secants over the bracket, an end that stays
 * counting for half as much each time, and by halves where a secant gains too little (Dowell & Jarratt 1971, BIT 11:168–174).
 */
function firstBeyond(
  excess: (share: number) => number,
  within: number,
  beyond: number,
  atBeyond: number,
  atWithin: number,
): number {
  let [inside, outside, low, high] = [within, beyond, atWithin, atBeyond];
  for (let k = 0; Math.abs(outside - inside) > CLOSE; k += 1) {
    const wide = outside - inside;
    // Half of what is wanted past the crossing, so that the bracket closes from both sides.
    const secant =
      inside + (wide * -low) / (high - low) + Math.sign(wide) * (CLOSE / 2) * (k % 2 === 0 ? 1 : -1);
    const inBracket = (secant - inside) * (secant - outside) < 0;
    const middle = k % 4 === 3 || !inBracket ? (inside + outside) / 2 : secant;
    const at = excess(middle);
    if (at > 0) {
      outside = middle;
      high = at;
      low /= 2;
    } else {
      inside = middle;
      low = at;
      high /= 2;
    }
  }
  return outside;
}

/** A solution next to the one wanted, mixed with a little everywhere so that no place is lost. */
function nearly(mass: Float64Array): Float64Array {
  return mass.map((value) => 0.995 * value + 0.005 / mass.length);
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
  // One score for all rows of an interval.
  const scoreOf = new Float64Array(distinct.openAt.length);
  for (let u = 0; u < scoreOf.length; u += 1) {
    const open = distinct.openAt[u]!;
    const close = distinct.closeAt[u]!;
    const by = upTo[Math.min(close, cut)]! - upTo[Math.min(open, cut)]!;
    const chance = by / (upTo[close]! - upTo[open]!);
    scoreOf[u] = chance / share - (1 - chance) / (1 - share);
  }
  const n = left.length;
  let count = 0;
  for (let i = 0; i < n; i += 1) count = Math.max(count, clusterOf[i]! + 1);
  const sums = new Float64Array(count);
  let single = 0;
  for (let i = 0; i < n; i += 1) {
    const c = clusterOf[i]!;
    if (c < 0) continue;
    const score = (weight ? weight[i]! : 1) * scoreOf[distinct.ofRow[i]!]!;
    single += score * score;
    sums[c]! += score;
  }
  let between = 0;
  for (let c = 0; c < count; c += 1) between += sums[c]! * sums[c]!;
  return single > 0 ? Math.max(1, between / single) : 1;
}
