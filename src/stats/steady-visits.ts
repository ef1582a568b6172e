import { type Estimate, isUnavailable, type Outcome, unavailable } from '../core/outcome.ts';
import type { ResetFit } from './onset-since-reset.ts';
import { errorOf } from './predictor-fit.ts';
import { resetProbabilities } from './reset-kernel.ts';
import type { ResetMix } from './standardise.ts';

/** What visits at one interval come to, averaged over a mix of units once the plan has been kept for long. */
interface SteadyVisits {
  /** Chance that a unit clear at one visit has the problem at the next. */
  readonly risk: Estimate;
  /** Share of units with it at a visit: P01/(P01 + P10). */
  readonly affected: Estimate;
  /** New ones seen at visits, per unit a year: visits a year × share clear × risk. */
  readonly perYear: Estimate;
}

const MEASURES = ['risk', 'affected', 'perYear'] as const;
export type SteadyMeasure = (typeof MEASURES)[number];

interface SteadyComparison {
  readonly now: SteadyVisits;
  readonly planned: SteadyVisits;
  /** Planned less now. */
  readonly change: SteadyVisits;
  /** Share of the mix left out because nothing is known of a level of it. */
  readonly shareLeftOut: number;
}

/**
 * Visits every `now` against every `planned` (in the fit's unit of time). At each visit the clock of onset is set back, so
 * states at visits are a Markov chain whose long-run share affected is P01/(P01 + 1 − P11). Intervals by the delta
 * method for the parameters, on the log scale (change: plain); the mix is taken as it is.
 * Typed `no-events` where no row of the mix has an estimated risk, `one-cluster` where errors rest on one cluster.
 */
export function compareVisits(
  fit: ResetFit,
  mix: ResetMix,
  now: number,
  planned: number,
): Outcome<SteadyComparison> {
  for (const [name, days] of [
    ['now', now],
    ['planned', planned],
  ] as const) {
    if (!(days > 0)) throw new Error(`${name} must be above 0: ${days}`);
  }
  const p = fit.onsetTerms.length;
  const r = fit.clearingTerms.length;
  const n = mix.onset.length / p;
  const usable = Array.from({ length: n }, (_, i) =>
    fit.limits.every(({ parameter }) =>
      parameter < p ? mix.onset[i * p + parameter] === 0 : mix.clearing[i * r + parameter - p] === 0,
    ),
  );
  const weightOf = (i: number): number => mix.weight?.[i] ?? 1;
  let whole = 0;
  let total = 0;
  usable.forEach((isUsable, i) => {
    whole += weightOf(i);
    if (isUsable) total += weightOf(i);
  });
  if (total === 0) return unavailable('no-events', 'no group here has events enough to estimate its risk.');
  const sums = [now, planned].map((days) => averages(fit, mix, days, usable, total));
  const told = (at: number): Outcome<SteadyVisits> => {
    const out: Partial<Record<SteadyMeasure, Estimate>> = {};
    for (const [k, measure] of MEASURES.entries()) {
      const { value, gradient } = sums[at]![k]!;
      const error = errorOf(fit, gradient);
      if (isUnavailable(error)) return error;
      const spread = (error.multiplier * error.stdError) / value;
      out[measure] = {
        estimate: value,
        stdError: error.stdError,
        low: value * Math.exp(-spread),
        high: measure === 'perYear' ? value * Math.exp(spread) : Math.min(1, value * Math.exp(spread)),
      };
    }
    return out as SteadyVisits;
  };
  const [a, b] = [told(0), told(1)];
  if (isUnavailable(a)) return a;
  if (isUnavailable(b)) return b;
  const change: Partial<Record<SteadyMeasure, Estimate>> = {};
  for (const [k, measure] of MEASURES.entries()) {
    const gradient = sums[1]![k]!.gradient.map((g, j) => g - sums[0]![k]!.gradient[j]!);
    const error = errorOf(fit, gradient);
    if (isUnavailable(error)) return error;
    const estimate = sums[1]![k]!.value - sums[0]![k]!.value;
    const reach = error.multiplier * error.stdError;
    change[measure] = { estimate, stdError: error.stdError, low: estimate - reach, high: estimate + reach };
  }
  return { now: a, planned: b, change: change as SteadyVisits, shareLeftOut: 1 - total / whole };
}

interface Average {
  value: number;
  readonly gradient: Float64Array;
}

function averages(
  fit: ResetFit,
  mix: ResetMix,
  days: number,
  usable: readonly boolean[],
  total: number,
): Average[] {
  const p = fit.onsetTerms.length;
  const r = fit.clearingTerms.length;
  const q = fit.theta.length;
  const out = MEASURES.map((): Average => ({ value: 0, gradient: new Float64Array(q) }));
  const visits = fit.yearTime / days;
  usable.forEach((isUsable, i) => {
    if (!isUsable) return;
    const w = (mix.weight?.[i] ?? 1) / total;
    const x = mix.onset.subarray(i * p, i * p + p);
    const z = mix.clearing.subarray(i * r, i * r + r);
    const eta = [inner(x, fit.theta, 0), inner(z, fit.theta, p), fit.theta[p + r]!];
    const at = resetProbabilities(eta, days, fit.referenceTime, fit.yearTime);
    const clears = 1 - at.p11;
    const affected = at.p01 / (at.p01 + clears);
    const values = [at.p01, affected, visits * (1 - affected) * at.p01];
    // Slopes along the three predictors.
    const slopes = [0, 1, 2].map((k) => {
      const d01 = at.gradient01[k]!;
      const dAffected = (clears * d01 + at.p01 * at.gradient11[k]!) / (at.p01 + clears) ** 2;
      return [d01, dAffected, visits * ((1 - affected) * d01 - at.p01 * dAffected)];
    });
    out.forEach((average, m) => {
      average.value += w * values[m]!;
      for (let j = 0; j < p; j += 1) average.gradient[j]! += w * slopes[0]![m]! * x[j]!;
      for (let j = 0; j < r; j += 1) average.gradient[p + j]! += w * slopes[1]![m]! * z[j]!;
      average.gradient[p + r]! += w * slopes[2]![m]!;
    });
  });
  return out;
}

function inner(row: Float64Array, theta: Float64Array, from: number): number {
  return row.reduce((sum, value, j) => sum + value * theta[from + j]!, 0);
}
