import { type Outcome, unavailable } from '../core/outcome.ts';
import { normalMultiplier } from './distributions.ts';
import type { IntervalData } from './interval-data.ts';
import { distinctIntervals, distinctWeights, supportOf } from './interval-support.ts';
import { solveNpmle } from './npmle-solver.ts';
import { type Bounds, quantileBetween, shareBy, type TurnbullFit, turnbull } from './turnbull.ts';
import { type LimitTask, shareLimit } from './turnbull-limits.ts';
import {
  type Clusters,
  joinReplicates,
  type Replicates,
  type ReplicateTask,
  replicateSteps,
} from './turnbull-replicates.ts';

export interface BandOptions {
  /** Times at which the band is wanted, in the unit of the ends. */
  readonly at: Float64Array;
  readonly quantiles?: readonly number[];
  readonly replicates?: number;
  readonly seed?: number;
  readonly confidence?: number;
}

/** At each time the estimate's own bounds and the limits of the band around them, as shares with the event. */
interface BandPoint {
  readonly at: number;
  readonly estimate: Bounds;
  readonly low: number;
  readonly high: number;
}

/** `high` is Infinity where the follow-up is too short to bound it. */
export interface QuantileBand {
  readonly quantile: number;
  readonly estimate: Bounds;
  readonly low: number;
  readonly high: number;
}

export interface TurnbullBands {
  readonly fit: TurnbullFit;
  readonly points: readonly BandPoint[];
  readonly quantiles: readonly QuantileBand[];
  readonly nClusters: number;
  readonly replicates: number;
  /** Replicates whose fit had not settled; they are used as they stood. */
  readonly unsettled: number;
  readonly confidence: number;
}

/** With fewer clusters known to be on one side of t, resampling cannot show how far the truth may lie on that side. */
const FEW = 10;

interface BandProgress {
  readonly done: number;
  readonly total: number;
}

/** A band as far as it can be made in one go: its replicates are to be drawn, by whomever, in any stretches. */
export interface BandsBegun {
  readonly data: IntervalData;
  readonly fit: TurnbullFit;
  readonly task: ReplicateTask;
  readonly replicates: number;
  readonly confidence: number;
}

/** A band with all but the limits that resampling cannot show, in the order of `limits`. */
interface BandsDrawn {
  readonly bands: TurnbullBands;
  readonly limits: readonly (LimitTask & { readonly point: number })[];
}

/**
 * Pointwise bands for the estimate of `turnbull` by resampling whole clusters: percentile limits of the lower
 * bound of F below and of the upper bound above, so that what is not identified widens the band. Yields after
 * every replicate: a caller may pause, report or stop there. Percentiles need no standard error where F is 0
 * or 1 and stay in 0–1 (Efron & Tibshirani 1993, ch. 13). Where fewer than 10 clusters are known to have had the
 * event by t (or to be still without it), replicates agree too well, at worst all on 0 (or 1): there the
 * likelihood-ratio limit of `shareLimit` is taken where it reaches further.
 *
 * Shapes: n rows, n cluster ids. Throws as `turnbull` does. Unavailable: as `turnbull`, or one cluster.
 */
export function* turnbullBandSteps(
  data: IntervalData,
  cluster: Int32Array,
  options: BandOptions,
): Generator<BandProgress, Outcome<TurnbullBands>, void> {
  const begun = beginBands(data, cluster, options);
  return 'unavailable' in begun ? begun : yield* bandSteps(begun);
}

/** The rest of `turnbullBandSteps`. */
export function* bandSteps(begun: BandsBegun): Generator<BandProgress, TurnbullBands, void> {
  const { task, replicates: total } = begun;
  const drawing = replicateSteps(task, 0, total);
  let step = drawing.next();
  for (; !step.done; step = drawing.next()) yield { done: step.value, total };
  const drawn = drawBands(begun, [step.value]);
  const found: number[] = [];
  for (const limit of drawn.limits) {
    found.push(shareLimit(limit));
    yield { done: total, total };
  }
  return widened(drawn, found);
}

/** The estimate and all that its replicates need. */
export function beginBands(
  data: IntervalData,
  cluster: Int32Array,
  options: BandOptions,
): Outcome<BandsBegun> {
  const { at, quantiles = [], replicates = 400, seed = 1, confidence = 0.95 } = options;
  normalMultiplier(confidence); // Throws on a confidence outside 0–1.
  if (cluster.length !== data.left.length) {
    throw new Error(`cluster must be as long as left: ${cluster.length}, ${data.left.length}`);
  }
  if (!(replicates >= 1)) throw new Error(`replicates must be 1 or more: ${replicates}`);
  const fit = turnbull(data);
  if ('unavailable' in fit) return fit;
  const clusters = clusterRows(data, cluster);
  if (clusters.count < 2) {
    return unavailable(
      'one-cluster',
      'All rows belong to one group, so how far groups differ cannot be said.',
    );
  }
  const distinct = distinctIntervals(data);
  const full = supportOf(distinct, distinctWeights(distinct, data.weight));
  const fullMass = solveNpmle(full, { tolerance: 1e-6, maxIterations: 10_000 }).mass;
  const task = { distinct, weight: data.weight, clusters, full, fullMass, at, quantiles, seed };
  return { data, fit, task, replicates, confidence };
}

/** The estimate while nothing is known of its band yet: every limit is NaN. */
export function withoutBand({ fit, task, confidence }: BandsBegun): TurnbullBands {
  const none = { low: Number.NaN, high: Number.NaN };
  return {
    fit,
    points: Array.from(task.at, (t) => ({ at: t, estimate: shareBy(fit, t), ...none })),
    quantiles: task.quantiles.map((q) => ({ quantile: q, estimate: quantileBetween(fit, q), ...none })),
    nClusters: task.clusters.count,
    replicates: 0,
    unsettled: 0,
    confidence,
  };
}

/** The band from all replicates, and which limits are still to be looked for by likelihood. */
export function drawBands(begun: BandsBegun, parts: readonly Replicates[]): BandsDrawn {
  const { data, fit, task, replicates, confidence } = begun;
  const { at, quantiles, clusters } = task;
  const { lows, highs, quantileLows, quantileHighs, unsettled } = joinReplicates(parts);
  const tail = (1 - confidence) / 2;
  const times = knownTimes(data, clusters);
  const points = Array.from(at, (t, k): BandPoint => {
    const estimate = shareBy(fit, t);
    return { at: t, estimate, ...percentileBand(lows[k]!, highs[k]!, estimate, tail) };
  });
  const limits = points.flatMap(({ at: t, estimate, low, high }, point) => {
    if (!(t > 0)) return [];
    const known = clustersKnown(times, t);
    const common = { data, clusterOf: clusters.ofRow, at: t, tail, point };
    return [
      ...(known.withEvent < FEW && high < 1
        ? [{ ...common, side: 'high' as const, from: estimate.high }]
        : []),
      ...(known.without < FEW && low > 0 ? [{ ...common, side: 'low' as const, from: estimate.low }] : []),
    ];
  });
  const quantileBands = quantiles.map((q, k): QuantileBand => {
    const estimate = quantileBetween(fit, q);
    return { quantile: q, estimate, ...percentileBand(quantileLows[k]!, quantileHighs[k]!, estimate, tail) };
  });
  const nClusters = clusters.count;
  return {
    bands: { fit, points, quantiles: quantileBands, nClusters, replicates, unsettled, confidence },
    limits,
  };
}

/** The same with what was found for each of `limits`, where it reaches further. */
export function widened({ bands, limits }: BandsDrawn, found: readonly number[]): TurnbullBands {
  const points = [...bands.points];
  limits.forEach(({ point, side }, k) => {
    const { low, high, ...rest } = points[point]!;
    const limit = found[k]!;
    points[point] =
      side === 'high'
        ? { ...rest, low, high: Math.max(high, limit) }
        : { ...rest, low: Math.min(low, limit), high };
  });
  return { ...bands, points };
}

/** The same in one go, for callers that need not yield. */
export function turnbullBands(
  data: IntervalData,
  cluster: Int32Array,
  options: BandOptions,
): Outcome<TurnbullBands> {
  const steps = turnbullBandSteps(data, cluster, options);
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

function clusterRows({ weight }: IntervalData, cluster: Int32Array): Clusters {
  const ids = new Set(weight ? cluster.filter((_, i) => weight[i]! > 0) : cluster);
  const numberOf = new Map([...ids].sort((a, b) => a - b).map((id, number) => [id, number]));
  return { count: ids.size, ofRow: Int32Array.from(cluster, (id) => numberOf.get(id) ?? -1) };
}

/** Order statistics, never inside the estimate's own bounds. */
function percentileBand(lows: Float64Array, highs: Float64Array, estimate: Bounds, tail: number): Bounds {
  const count = lows.length;
  const rank = Math.max(1, Math.floor((count + 1) * tail));
  const low = lows.sort()[rank - 1]!;
  const high = highs.sort()[count - rank]!;
  return { low: Math.min(low, estimate.low), high: Math.max(high, estimate.high) };
}

/** From when on each cluster has a row known to have had the event, and until when one known to be without it. */
interface Known {
  readonly hadBy: Float64Array;
  /** The event is known to be still to come up to and at this time. */
  readonly withoutAt: Float64Array;
  /** The same, but not at this time itself: rows whose time is known. */
  readonly withoutBefore: Float64Array;
}

function knownTimes({ left, right }: IntervalData, { ofRow, count }: Clusters): Known {
  const hadBy = new Float64Array(count).fill(Number.POSITIVE_INFINITY);
  const withoutAt = new Float64Array(count).fill(Number.NEGATIVE_INFINITY);
  const withoutBefore = new Float64Array(count).fill(Number.NEGATIVE_INFINITY);
  for (let row = 0; row < ofRow.length; row += 1) {
    const c = ofRow[row]!;
    if (c < 0) continue;
    hadBy[c] = Math.min(hadBy[c]!, right[row]!);
    const until = left[row] === right[row] ? withoutBefore : withoutAt;
    until[c] = Math.max(until[c]!, left[row]!);
  }
  return { hadBy, withoutAt, withoutBefore };
}

/** Clusters with a row known to be without the event at t, and with a row known to have had it by then. */
function clustersKnown({ hadBy, withoutAt, withoutBefore }: Known, t: number) {
  let without = 0;
  let withEvent = 0;
  for (let c = 0; c < hadBy.length; c += 1) {
    if (hadBy[c]! <= t) withEvent += 1;
    if (withoutAt[c]! >= t || withoutBefore[c]! > t) without += 1;
  }
  return { without, withEvent };
}
