import { isUnavailable, type Outcome, unavailable } from '../core/outcome.ts';
import { inverseSpd, quadraticForm, solveSpd } from './linear-algebra.ts';

/**
 * Trials collapsed to patterns: each has its levels of the factors, its covariates, and how many trials and events.
 * Arrays of length n.
 */
interface FactorTrials {
  readonly trials: Float64Array;
  readonly events: Float64Array;
  /** Level codes from 0, one array a factor. */
  readonly factors: readonly { readonly codes: ArrayLike<number>; readonly levels: number }[];
  readonly covariates: readonly ArrayLike<number>[];
}

export interface FactorRisk {
  /** Risk of a pattern; NaN where one of its levels had no event here, so that nothing is known of it. */
  readonly risk: Float64Array;
  /** Figures estimated. */
  readonly parameters: number;
  readonly iterations: number;
  readonly trials: number;
  readonly events: number;
  /** Where another fit of nearly the same trials may begin. */
  readonly reached: { readonly theta: Float64Array; readonly columns: Layout['columns'] };
  /**
   * Events expected among so many trials of each pattern (length n; patterns without a risk count for nothing), with
   * the variance that comes from the figures being estimated, by the delta method.
   */
  expectedAmong(trials: ArrayLike<number>): { expected: number; variance: number };
}

interface Layout {
  /** First column of each level, −1 for a reference level; null for a level not known. */
  readonly columns: readonly (readonly (number | null)[])[];
  readonly width: number;
}

/**
 * Risk by complementary log-log regression, log(−log(1 − p)) = intercept + levels + covariates, by maximum likelihood
 * (Fisher scoring). A level without an event among these trials has no estimate: its patterns take no part and get no
 * risk. Typed `no-rows`, `no-events`, `all-events`, `collinear`, `not-converged`.
 * McCullagh & Nelder 1989, Generalized Linear Models, ch. 4. `near`, a fit of nearly the same trials, only shortens the way.
 */
export function factorRisk(data: FactorTrials, near?: FactorRisk): Outcome<FactorRisk> {
  const n = data.trials.length;
  const layout = layoutOf(data);
  const known = Uint8Array.from({ length: n }, (_, i) =>
    layout.columns.every((columns, k) => columns[data.factors[k]!.codes[i]!] !== null) ? 1 : 0,
  );
  let trials = 0;
  let events = 0;
  for (let i = 0; i < n; i += 1) {
    if (!known[i]) continue;
    trials += data.trials[i]!;
    events += data.events[i]!;
  }
  if (trials === 0) return unavailable('no-rows', 'there are no records to work from.');
  if (events === 0) return unavailable('no-events', 'none was seen here, so its risk cannot be estimated.');
  if (events >= trials)
    return unavailable('all-events', 'every record ended with it, so no risk can be estimated.');
  const p = layout.width;
  const at = new Int32Array(p);
  const value = new Float64Array(p);
  const theta = new Float64Array(p);
  if (near && isAlike(near.reached.columns, layout.columns)) theta.set(near.reached.theta);
  else theta[0] = Math.log(-Math.log1p(-events / trials));
  let before = logLikelihood(data, layout, known, theta, at, value);
  for (let turn = 1; turn <= 60; turn += 1) {
    const score = new Float64Array(p);
    const information = new Float64Array(p * p);
    for (let i = 0; i < n; i += 1) {
      const m = data.trials[i]!;
      if (!known[i] || m === 0) continue;
      const filled = rowOf(data, layout, i, at, value);
      const h = Math.exp(predictor(theta, at, value, filled));
      const slope = (h * data.events[i]!) / -Math.expm1(-h) - m * h;
      const weight = (m * h * h) / Math.expm1(h);
      for (let a = 0; a < filled; a += 1) {
        score[at[a]!]! += slope * value[a]!;
        for (let b = 0; b < filled; b += 1) {
          information[at[a]! * p + at[b]!]! += weight * value[a]! * value[b]!;
        }
      }
    }
    const step = solveSpd(information, score, p);
    if (isUnavailable(step)) return step;
    const decrement = step.reduce((sum, s, j) => sum + s * score[j]!, 0);
    let scale = 1;
    const tried = new Float64Array(p);
    let after = Number.NEGATIVE_INFINITY;
    for (; scale > 1e-6; scale /= 2) {
      for (let j = 0; j < p; j += 1) tried[j] = theta[j]! + scale * step[j]!;
      after = logLikelihood(data, layout, known, tried, at, value);
      if (after >= before - 1e-9) break;
    }
    if (!Number.isFinite(after)) break;
    theta.set(tried);
    before = after;
    if (decrement < 1e-10) {
      const covariance = inverseSpd(information, p);
      if (isUnavailable(covariance)) return covariance;
      const risk = risks(data, layout, known, theta, at, value);
      return {
        risk,
        parameters: p,
        iterations: turn,
        trials,
        events,
        reached: { theta, columns: layout.columns },
        expectedAmong(among) {
          let expected = 0;
          const gradient = new Float64Array(p);
          for (let i = 0; i < n; i += 1) {
            if (!known[i] || among[i] === 0) continue;
            expected += among[i]! * risk[i]!;
            const filled = rowOf(data, layout, i, at, value);
            // A risk that is 1 to the last digit no longer moves.
            const slope = risk[i]! < 1 ? (risk[i]! - 1) * Math.log1p(-risk[i]!) : 0;
            for (let a = 0; a < filled; a += 1) {
              gradient[at[a]!]! += among[i]! * slope * value[a]!;
            }
          }
          return { expected, variance: quadraticForm(covariance, gradient) };
        },
      };
    }
  }
  return unavailable('not-converged', 'the records do not settle on one answer.');
}

function isAlike(a: Layout['columns'], b: Layout['columns']): boolean {
  return a.every((columns, k) => columns.every((column, level) => column === b[k]![level]));
}

function layoutOf({ factors, trials, events, covariates }: FactorTrials): Layout {
  let width = 1;
  const columns = factors.map(({ codes, levels }) => {
    const seen = new Float64Array(levels);
    const withEvent = new Float64Array(levels);
    for (let i = 0; i < trials.length; i += 1) {
      seen[codes[i]!]! += trials[i]!;
      withEvent[codes[i]!]! += events[i]!;
    }
    const usable = Array.from(seen, (count, level) => (withEvent[level]! > 0 ? count : -1));
    const reference = usable.indexOf(Math.max(...usable));
    return usable.map((count, level) => (count < 0 ? null : level === reference ? -1 : width++));
  });
  return { columns, width: width + covariates.length };
}

/** Writes the columns of a pattern that are not 0, and their values; returns how many. */
function rowOf(
  data: FactorTrials,
  { columns, width }: Layout,
  i: number,
  at: Int32Array,
  value: Float64Array,
): number {
  at[0] = 0;
  value[0] = 1;
  let filled = 1;
  for (let k = 0; k < columns.length; k += 1) {
    const column = columns[k]![data.factors[k]!.codes[i]!]!;
    if (column < 0) continue;
    at[filled] = column;
    value[filled] = 1;
    filled += 1;
  }
  const first = width - data.covariates.length;
  for (let j = 0; j < data.covariates.length; j += 1) {
    at[filled] = first + j;
    value[filled] = data.covariates[j]![i]!;
    filled += 1;
  }
  return filled;
}

function predictor(theta: Float64Array, at: Int32Array, value: Float64Array, filled: number): number {
  let eta = 0;
  for (let a = 0; a < filled; a += 1) eta += theta[at[a]!]! * value[a]!;
  return eta;
}

function logLikelihood(
  data: FactorTrials,
  layout: Layout,
  known: Uint8Array,
  theta: Float64Array,
  at: Int32Array,
  value: Float64Array,
): number {
  let sum = 0;
  for (let i = 0; i < data.trials.length; i += 1) {
    const m = data.trials[i]!;
    if (!known[i] || m === 0) continue;
    const h = Math.exp(predictor(theta, at, value, rowOf(data, layout, i, at, value)));
    const y = data.events[i]!;
    sum += (y > 0 ? y * Math.log(-Math.expm1(-h)) : 0) - (m - y) * h;
  }
  return sum;
}

function risks(
  data: FactorTrials,
  layout: Layout,
  known: Uint8Array,
  theta: Float64Array,
  at: Int32Array,
  value: Float64Array,
): Float64Array {
  return Float64Array.from(known, (isKnown, i) =>
    isKnown
      ? -Math.expm1(-Math.exp(predictor(theta, at, value, rowOf(data, layout, i, at, value))))
      : Number.NaN,
  );
}
