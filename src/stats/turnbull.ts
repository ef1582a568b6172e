import { type Outcome, unavailable } from '../core/outcome.ts';
import { checkIntervals, countIntervals, type IntervalCounts, type IntervalData } from './interval-data.ts';
import {
  type DistinctIntervals,
  distinctIntervals,
  distinctWeights,
  type Support,
  supportOf,
} from './interval-support.ts';
import { solveNpmle } from './npmle-solver.ts';

/** A value known only to lie between two bounds, both included. */
export interface Bounds {
  readonly low: number;
  readonly high: number;
}

/**
 * Where the distribution has its mass: interval j is (low[j], high[j]], or the one time where both are equal;
 * the last high may be Infinity. Where inside an interval its mass lies is not identified.
 */
interface MassIntervals {
  readonly low: Float64Array;
  readonly high: Float64Array;
  readonly mass: Float64Array;
}

export interface TurnbullFit extends IntervalCounts, MassIntervals {
  readonly logLikelihood: number;
  /** Karush–Kuhn–Tucker gap at the stop; the log-likelihood lies within (sum of weights)·gap of its maximum. */
  readonly gap: number;
  readonly iterations: number;
}

interface TurnbullOptions {
  /** Largest Karush–Kuhn–Tucker gap to stop at. */
  readonly tolerance?: number;
  readonly maxIterations?: number;
}

/**
 * Nonparametric maximum likelihood estimate of the distribution of a time seen only to lie in (left, right].
 * Shapes: n rows. Units: those of the ends. Throws on ends that are no interval (see `checkIntervals`).
 * Unavailable: no rows; no row with a finite right end (nothing was seen to happen); not converged.
 * Source: Turnbull 1976, J R Stat Soc B 38:290–295; Peto 1973, Appl Stat 22:86–91 for where the mass can be;
 * Gentleman & Geyer 1994, Biometrika 81:618–623 for the stop.
 */
export function turnbull(data: IntervalData, options: TurnbullOptions = {}): Outcome<TurnbullFit> {
  checkIntervals(data);
  const counts = countIntervals(data);
  if (counts.n === 0) return unavailable('no-rows', 'There are no rows to estimate from.');
  if (counts.nEvents === 0) return unavailable('no-events', noEventsSentence(counts.n));
  const distinct = distinctIntervals(data);
  const support = supportOf(distinct, distinctWeights(distinct, data.weight));
  const { tolerance = 1e-8, maxIterations = 10_000 } = options;
  const fit = solveNpmle(support, { tolerance, maxIterations });
  if (!fit.converged) {
    return unavailable('not-converged', `The estimate was still moving after ${fit.iterations} rounds.`);
  }
  const { logLikelihood, gap, iterations } = fit;
  return { ...counts, ...massIntervals(distinct, support, fit.mass), logLikelihood, gap, iterations };
}

export function noEventsSentence(n: number): string {
  const followed = n === 1 ? 'The one span followed' : `None of the ${n} spans followed`;
  const seen = n === 1 ? 'did not end in an event' : 'ended in an event';
  return `${followed} ${seen}: none was seen, which does not mean that none can come.`;
}

/** Mass above 0 with its interval in time units. */
export function massIntervals(
  { times }: DistinctIntervals,
  support: Support,
  mass: Float64Array,
): MassIntervals {
  const kept = Array.from(mass.keys()).filter((j) => mass[j]! > 0);
  const timeAt = (position: number): number => times[Math.floor(position / 3)]!;
  return {
    low: Float64Array.from(kept, (j) => timeAt(support.openAt[j]!)),
    high: Float64Array.from(kept, (j) => timeAt(support.closeAt[j]!)),
    mass: Float64Array.from(kept, (j) => mass[j]!),
  };
}

/** Share with the event by time t: equal bounds outside the mass intervals, apart inside one. */
export function shareBy({ low, high, mass }: MassIntervals, t: number): Bounds {
  let before = 0;
  let started = 0;
  for (let j = 0; j < mass.length; j += 1) {
    if (high[j]! <= t) before += mass[j]!;
    if (low[j]! < t || high[j]! <= t) started += mass[j]!;
  }
  return { low: Math.min(1, before), high: Math.min(1, started) };
}

/**
 * The time by which the share q has had the event: it lies in (low, high]; high is Infinity where the
 * follow-up never saw that share.
 */
export function quantileBetween({ low, high, mass }: MassIntervals, q: number): Bounds {
  if (!(q > 0 && q < 1)) throw new Error(`q must lie between 0 and 1: ${q}`);
  let sum = 0;
  for (let j = 0; j < mass.length; j += 1) {
    sum += mass[j]!;
    // A sum of masses that misses q by rounding alone has reached it.
    if (sum >= q - 1e-9) return { low: low[j]!, high: high[j]! };
  }
  return { low: high.at(-1) ?? 0, high: Number.POSITIVE_INFINITY };
}
