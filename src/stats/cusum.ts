import { poissonCdf, poissonLimit } from './poisson.ts';
import { type Random, seededRandom } from './random.ts';

/**
 * Upward cumulative sum of counts against what was expected, tuned to a rate `ratio` times as high: the log-likelihood
 * ratio of two Poisson rates, C = max(0, C + o·log(ratio) − (ratio − 1)·e), set back to 0 after each time that it passes
 * `limit`. Counts and expectations of n months; divided by the dispersion by the caller. Lucas 1985, Technometrics
 * 27:129–144; Hawkins & Olwell 1998, Cumulative Sum Charts (both from memory).
 */
export function cusumPath(
  observed: ArrayLike<number>,
  expected: ArrayLike<number>,
  ratio: number,
  limit: number,
): { path: Float64Array; passed: Uint8Array } {
  if (!(ratio > 1)) throw new Error(`ratio must be above 1: ${ratio}`);
  const n = observed.length;
  const path = new Float64Array(n);
  const passed = new Uint8Array(n);
  let sum = 0;
  for (let t = 0; t < n; t += 1) {
    sum = Math.max(0, sum + observed[t]! * Math.log(ratio) - (ratio - 1) * expected[t]!);
    path[t] = sum;
    if (sum > limit) {
      passed[t] = 1;
      sum = 0;
    }
  }
  return { path, passed };
}

/** Largest values of a chart so far, at the steps at which they were reached: from them its run length at any limit. */
interface Records {
  readonly steps: readonly number[];
  readonly values: readonly number[];
}

/** Runs of a chart on chance alone, from which the mean number of steps to a false alarm follows for every limit. */
interface NullRuns {
  /** Mean steps to the first time above `limit`; runs that never pass count as still waiting. */
  runLength(limit: number): number;
  /** The least limit whose run length is `steps` or more, and that run length. */
  limitFor(steps: number): { limit: number; runLength: number };
}

/**
 * Simulates `runs` runs of `horizon` steps of a chart: `next` gives the chart's value from the one before, the step and
 * a uniform number. The same seed gives the same runs.
 */
export function nullRuns(
  next: (before: number, step: number, uniform: () => number) => number,
  { runs = 400, horizon = 600, seed = 1 } = {},
): NullRuns {
  const random = seededRandom(seed);
  const records: Records[] = [];
  for (let run = 0; run < runs; run += 1) {
    const steps: number[] = [];
    const values: number[] = [];
    let value = 0;
    let most = 0;
    for (let step = 0; step < horizon; step += 1) {
      value = next(value, step, random.uniform);
      if (value > most) {
        most = value;
        steps.push(step + 1);
        values.push(value);
      }
    }
    records.push({ steps, values });
  }
  const runLength = (limit: number): number => {
    let waited = 0;
    let alarms = 0;
    for (const { steps, values } of records) {
      const at = firstAbove(values, limit);
      waited += at < values.length ? steps[at]! : horizon;
      if (at < values.length) alarms += 1;
    }
    return alarms === 0 ? Number.POSITIVE_INFINITY : waited / alarms;
  };
  return {
    runLength,
    limitFor(wanted) {
      let low = 0;
      let high = 1;
      while (runLength(high) < wanted) high *= 2;
      for (let turn = 0; turn < 50; turn += 1) {
        const middle = (low + high) / 2;
        if (runLength(middle) >= wanted) high = middle;
        else low = middle;
      }
      return { limit: high, runLength: runLength(high) };
    },
  };
}

/** Position of the first of ascending values above the limit. */
function firstAbove(values: readonly number[], limit: number): number {
  let low = 0;
  let high = values.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (values[middle]! > limit) high = middle;
    else low = middle + 1;
  }
  return low;
}

/** The chart of `cusumPath` on Poisson counts of these means, taken in turn and over again. */
export function cusumNullRuns(
  expected: ArrayLike<number>,
  ratio: number,
  options: { runs?: number; horizon?: number; seed?: number } = {},
): NullRuns {
  const draws = Array.from(expected, poissonTable);
  const step = Math.log(ratio);
  return nullRuns((before, at, uniform) => {
    const month = at % draws.length;
    const count = drawFrom(draws[month]!, uniform());
    return Math.max(0, before + count * step - (ratio - 1) * expected[month]!);
  }, options);
}

function poissonTable(mean: number): Float64Array {
  const cumulated: number[] = [];
  for (let count = 0; ; count += 1) {
    const p = poissonCdf(count, mean);
    cumulated.push(p);
    if (p > 1 - 1e-12 || count > 20 + 3 * mean) return Float64Array.from(cumulated);
  }
}

function drawFrom(cumulated: Float64Array, u: number): number {
  let low = 0;
  let high = cumulated.length - 1;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (cumulated[middle]! >= u) high = middle;
    else low = middle + 1;
  }
  return low;
}

interface FalseAlarms {
  readonly limit: number;
  /** Share of runs over the steps given that pass the limit by chance. */
  readonly share: number;
  /** Mean steps between false alarms that would give that share: −n/log(1 − share); infinite where it is 0. */
  readonly steps: number;
  readonly runs: number;
}

/**
 * The least limit of `cusumPath` at which a false alarm within the n steps given is no likelier than one in `wanted`
 * steps would make it, 1 − exp(−n/wanted). The expected counts are themselves estimates: each run has its true means off
 * by one log-normal factor with log standard deviation `levelError`, without which alarms would come too often (Jones
 * 2002, J Qual Technol 34:277–288, on charts with estimated parameters, from memory).
 */
export function cusumLimit(
  expected: ArrayLike<number>,
  ratio: number,
  wanted: number,
  { levelError = 0, runs = 2000, seed = 1 }: { levelError?: number; runs?: number; seed?: number } = {},
): FalseAlarms {
  const n = expected.length;
  const random = seededRandom(seed);
  const step = Math.log(ratio);
  const tops = new Float64Array(runs);
  for (let run = 0; run < runs; run += 1) {
    const factor = Math.exp(random.normal(0, levelError));
    let sum = 0;
    for (let t = 0; t < n; t += 1) {
      const count = poissonDraw(expected[t]! * factor, random);
      sum = Math.max(0, sum + count * step - (ratio - 1) * expected[t]!);
      tops[run] = Math.max(tops[run]!, sum);
    }
  }
  tops.sort();
  const allowed = Math.floor(runs * -Math.expm1(-n / wanted));
  const limit = tops[Math.max(0, runs - 1 - allowed)]!;
  const share = tops.filter((top) => top > limit).length / runs;
  const steps = share === 0 ? Number.POSITIVE_INFINITY : -n / Math.log1p(-share);
  return { limit, share, steps, runs };
}

/** By inversion; by the normal curve where the mean is large. */
function poissonDraw(mean: number, random: Random): number {
  if (mean > 400) return Math.max(0, Math.round(random.normal(mean, Math.sqrt(mean))));
  const u = random.uniform();
  let p = Math.exp(-mean);
  let cumulated = p;
  let count = 0;
  while (cumulated < u && count < 10 * mean + 100) {
    count += 1;
    p *= mean / count;
    cumulated += p;
  }
  return count;
}

interface CountLimits {
  readonly low: number;
  readonly high: number;
  /** Chance that a month falls outside by chance alone: exact, on whole counts of what the count is worth. */
  readonly falseAlarm: number;
}

/**
 * Limits for one month's count, its variance `dispersion` times its mean: interpolated Poisson limits of the count that
 * it is worth. Montgomery, Introduction to Statistical Quality Control, chapter on charts for attributes (from memory).
 */
export function countLimits(expected: number, within: number, dispersion: number): CountLimits {
  if (!(expected > 0)) throw new Error(`expected must be above 0: ${expected}`);
  const worth = expected / dispersion;
  const tail = (1 - within) / 2;
  const [low, high] = [poissonLimit(tail, worth), poissonLimit(1 - tail, worth)];
  // A count at a limit is inside.
  const falseAlarm = 1 - poissonCdf(Math.floor(high), worth) + poissonCdf(Math.ceil(low) - 1, worth);
  return { low: low * dispersion, high: high * dispersion, falseAlarm };
}
