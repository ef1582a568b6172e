import { isUnavailable, type Outcome, unavailable } from '../core/outcome.ts';
import { copyUpper } from './filled-cells.ts';
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
  readonly reached: Reached;
  /**
   * Events expected among so many trials of each pattern (length n; patterns without a risk count for nothing), with
   * the variance that comes from the figures being estimated, by the delta method.
   */
  expectedAmong(trials: ArrayLike<number>): { expected: number; variance: number };
}

interface Reached {
  readonly theta: Float64Array;
  readonly columns: Layout['columns'];
  readonly of: Pick<FactorTrials, 'factors' | 'covariates'>;
  readonly rows: PatternRows;
}

/**
 * The columns of each pattern that are not 0, ascending, with their values: of pattern i from start[i] up to start[i + 1].
 * None of a pattern with a level that is not known.
 */
interface PatternRows {
  readonly start: Int32Array;
  readonly at: Int32Array;
  readonly value: Float64Array;
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
  const isNear = near !== undefined && isAlike(near.reached.columns, layout.columns);
  const rows = isNear && isOf(near.reached.of, data) ? near.reached.rows : rowsOf(data, layout);
  const isKnown = (i: number): boolean => rows.start[i + 1]! > rows.start[i]!;
  let trials = 0;
  let events = 0;
  for (let i = 0; i < n; i += 1) {
    if (!isKnown(i)) continue;
    trials += data.trials[i]!;
    events += data.events[i]!;
  }
  if (trials === 0) return unavailable('no-rows', 'there are no records to work from.');
  if (events === 0) return unavailable('no-events', 'none was seen here, so its risk cannot be estimated.');
  if (events >= trials)
    return unavailable('all-events', 'every record ended with it, so no risk can be estimated.');
  const p = layout.width;
  const theta = new Float64Array(p);
  if (isNear) theta.set(near.reached.theta);
  else theta[0] = Math.log(-Math.log1p(-events / trials));
  const hazard = new Float64Array(n);
  const chance = new Float64Array(n);
  let before = logLikelihood(data, rows, theta, hazard, chance);
  for (let turn = 1; turn <= 60; turn += 1) {
    const { score, information } = slopesOf(data, rows, hazard, chance, p);
    const step = solveSpd(information, score, p);
    if (isUnavailable(step)) return step;
    const decrement = step.reduce((sum, s, j) => sum + s * score[j]!, 0);
    let scale = 1;
    const tried = new Float64Array(p);
    let after = Number.NEGATIVE_INFINITY;
    for (; scale > 1e-6; scale /= 2) {
      for (let j = 0; j < p; j += 1) tried[j] = theta[j]! + scale * step[j]!;
      after = logLikelihood(data, rows, tried, hazard, chance);
      if (after >= before - 1e-9) break;
    }
    if (!Number.isFinite(after)) break;
    theta.set(tried);
    before = after;
    if (decrement < 1e-10) {
      const covariance = inverseSpd(information, p);
      if (isUnavailable(covariance)) return covariance;
      const risk = risks(rows, theta);
      return {
        risk,
        parameters: p,
        iterations: turn,
        trials,
        events,
        reached: { theta, columns: layout.columns, of: data, rows },
        expectedAmong(among) {
          let expected = 0;
          const gradient = new Float64Array(p);
          for (let i = 0; i < n; i += 1) {
            if (among[i] === 0 || !isKnown(i)) continue;
            expected += among[i]! * risk[i]!;
            // A risk that is 1 to the last digit no longer moves.
            const slope = risk[i]! < 1 ? (risk[i]! - 1) * Math.log1p(-risk[i]!) : 0;
            for (let k = rows.start[i]!; k < rows.start[i + 1]!; k += 1) {
              gradient[rows.at[k]!]! += among[i]! * slope * rows.value[k]!;
            }
          }
          return { expected, variance: quadraticForm(covariance, gradient) };
        },
      };
    }
  }
  return unavailable('not-converged', 'the records do not settle on one answer.');
}

const isOf = (of: Reached['of'], { factors, covariates }: FactorTrials): boolean =>
  of.factors === factors && of.covariates === covariates;

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

function rowsOf({ trials, factors, covariates }: FactorTrials, { columns, width }: Layout): PatternRows {
  const n = trials.length;
  const most = n * (1 + factors.length + covariates.length);
  const rows = { start: new Int32Array(n + 1), at: new Int32Array(most), value: new Float64Array(most) };
  let size = 0;
  const put = (column: number, value: number): void => {
    rows.at[size] = column;
    rows.value[size++] = value;
  };
  for (let i = 0; i < n; i += 1) {
    const levels = columns.map((column, k) => column[factors[k]!.codes[i]!] ?? null);
    if (!levels.includes(null)) {
      put(0, 1);
      for (const column of levels) if (column! >= 0) put(column!, 1);
      covariates.forEach((values, j) => {
        put(width - covariates.length + j, values[i]!);
      });
    }
    rows.start[i + 1] = size;
  }
  return rows;
}

function predictor({ start, at, value }: PatternRows, theta: Float64Array, i: number): number {
  let eta = 0;
  const end = start[i + 1]!;
  for (let k = start[i]!; k < end; k += 1) eta += theta[at[k]!]! * value[k]!;
  return eta;
}

/** Writes the hazard of each pattern that has trials, and, of those with events, the chance of one. */
function logLikelihood(
  { trials, events }: FactorTrials,
  rows: PatternRows,
  theta: Float64Array,
  hazard: Float64Array,
  chance: Float64Array,
): number {
  let sum = 0;
  for (let i = 0; i < trials.length; i += 1) {
    const m = trials[i]!;
    if (m === 0 || rows.start[i] === rows.start[i + 1]) continue;
    const h = Math.exp(predictor(rows, theta, i));
    const y = events[i]!;
    hazard[i] = h;
    if (y > 0) chance[i] = -Math.expm1(-h);
    sum += (y > 0 ? y * Math.log(chance[i]!) : 0) - (m - y) * h;
  }
  return sum;
}

/** First derivatives, and the information that is expected, at those hazards and chances. */
function slopesOf(
  { trials, events }: FactorTrials,
  { start, at, value }: PatternRows,
  hazard: Float64Array,
  chance: Float64Array,
  p: number,
): { score: Float64Array; information: Float64Array } {
  const score = new Float64Array(p);
  const information = new Float64Array(p * p);
  for (let i = 0; i < trials.length; i += 1) {
    const m = trials[i]!;
    const end = start[i + 1]!;
    if (m === 0 || start[i] === end) continue;
    const h = hazard[i]!;
    const y = events[i]!;
    const slope = (y > 0 ? (h * y) / chance[i]! : 0) - m * h;
    const weight = (m * h * h) / Math.expm1(h);
    for (let a = start[i]!; a < end; a += 1) {
      score[at[a]!]! += slope * value[a]!;
      const left = weight * value[a]!;
      const row = at[a]! * p;
      for (let b = a; b < end; b += 1) information[row + at[b]!]! += left * value[b]!;
    }
  }
  copyUpper(information, p);
  return { score, information };
}

function risks(rows: PatternRows, theta: Float64Array): Float64Array {
  return Float64Array.from({ length: rows.start.length - 1 }, (_, i) =>
    rows.start[i + 1]! > rows.start[i]! ? -Math.expm1(-Math.exp(predictor(rows, theta, i))) : Number.NaN,
  );
}
