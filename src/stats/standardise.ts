import { type Estimate, isUnavailable, type Outcome, unavailable } from '../core/outcome.ts';
import { cellRows, collapseRows, columnsOf } from './cells.ts';
import { type BinaryFit, inverseLink, inverseLinkSlope } from './cloglog.ts';
import { filledCells, predictorsOf } from './filled-cells.ts';
import { multiply, type SquareMatrix } from './linear-algebra.ts';
import type { ResetFit } from './onset-since-reset.ts';
import { errorOf, type PredictorFit } from './predictor-fit.ts';
import { CHANCES, resetChances } from './reset-kernel.ts';

/** Average risk over a fixed mix of covariates, at each of m times. */
export interface RiskCurve {
  readonly times: readonly number[];
  /** Interval on the complementary log-log scale. */
  readonly risk: readonly Estimate[];
  /** m × m covariance of the risks, row-major. */
  readonly covariance: SquareMatrix;
  /** For each time, standard errors on either side of an interval. */
  readonly multipliers: readonly number[];
  /** Rows (or weight) averaged over. */
  readonly nRows: number;
  /** Share of the mix left out because a group without events has no estimated risk. */
  readonly shareLeftOut: number;
}

/** The covariates to average over, one row each, in the columns of the fit. */
export interface ResetMix {
  /** Row-major n × onsetTerms. */
  readonly onset: Float64Array;
  /** Row-major n × clearingTerms. */
  readonly clearing: Float64Array;
  readonly weight?: ArrayLike<number>;
  /** State at the start of the interval. Default 0. */
  readonly from?: 0 | 1;
}

/**
 * Chance of state 1 at the end of an interval of each length in `times` (in the fit's unit), averaged over the mix
 * (g-computation, i.e. direct standardisation by a model: Robins 1986, Math Model 7:1393–1512). Bands by the delta
 * method for the parameters, the mix being taken as it is. One row in the mix gives the risk of one set of covariates.
 * Typed `no-rows`, `no-events` where no row of the mix has an estimated risk, `one-cluster` where it rests on one cluster.
 */
export function standardisedResetRisk(
  fit: ResetFit,
  mix: ResetMix,
  times: readonly number[],
): Outcome<RiskCurve> {
  const means = resetRiskMeans(fit, collapsedMix(fit, mix), times);
  return isUnavailable(means) ? means : riskCurve(fit, [means]);
}

/** What of a fit its risks follow from; errors need the rest. */
export type RiskFit = Pick<
  ResetFit,
  'onsetTerms' | 'clearingTerms' | 'theta' | 'limits' | 'referenceTime' | 'yearTime'
>;

/** The same mix, alike rows put together: for each such row its weight. */
function collapsedMix(
  { onsetTerms, clearingTerms }: Pick<RiskFit, 'onsetTerms' | 'clearingTerms'>,
  mix: ResetMix,
): ResetMix {
  const p = onsetTerms.length;
  const r = clearingTerms.length;
  const n = mix.onset.length / p;
  const blocks = [
    { matrix: mix.onset, width: p },
    { matrix: mix.clearing, width: r },
  ];
  const cells = collapseRows(blocks, new Int32Array(n), mix.weight);
  return {
    ...mix,
    onset: cellRows(cells, mix.onset, p),
    clearing: cellRows(cells, mix.clearing, r),
    weight: cells.count,
  };
}

/** Mean risks of `standardisedResetRisk` over a mix as it is given, at some of its times. */
export function resetRiskMeans(fit: RiskFit, mix: ResetMix, times: readonly number[]): Outcome<RiskMeans> {
  const p = fit.onsetTerms.length;
  const r = fit.clearingTerms.length;
  const n = mix.onset.length / p;
  const designs = [
    { columns: p, values: mix.onset },
    { columns: r, values: mix.clearing },
  ];
  const filled = filledCells(designs, n);
  const { numberOf, start, place, owner, value } = filled;
  const etas = predictorsOf(filled, fit.theta, designs.length);
  const logExponent = fit.theta[p + r]!;
  const chances = new Float64Array(CHANCES);
  const from = mix.from === 1 ? 4 : 0;
  const rows: MixRows = {
    weight: Float64Array.from({ length: n }, (_, row) => mix.weight?.[row] ?? 1),
    // The exponent has no covariate.
    isSet: (row, parameter) =>
      parameter < p
        ? mix.onset[row * p + parameter] !== 0
        : parameter < p + r && mix.clearing[row * r + parameter - p] !== 0,
  };
  return meansOver(fit, times, rows, (row, time, share, slopes, at) => {
    const k = numberOf[row]!;
    resetChances(etas[2 * k]!, etas[2 * k + 1]!, logExponent, time, fit.referenceTime, fit.yearTime, chances);
    for (let i = start[k]!; i < start[k + 1]!; i += 1) {
      slopes[at + place[i]!]! += share * (chances[from + 1 + owner[i]!]! * value[i]!);
    }
    slopes[at + p + r]! += share * chances[from + 3]!;
    return chances[from]!;
  });
}

interface BinaryMix {
  /** Row-major n × terms; the time's column is overwritten. */
  readonly x: Float64Array;
  /** The column that holds log(time/reference), less `offset` where given. */
  readonly timeColumn: number;
  readonly referenceTime: number;
  /** Taken from log(time/reference) in each row: the cluster's mean, where time was split within and between. */
  readonly offset?: ArrayLike<number>;
  readonly weight?: ArrayLike<number>;
}

/** The same from a binary regression with log(time) among its covariates. */
export function standardisedBinaryRisk(
  fit: BinaryFit,
  mix: BinaryMix,
  times: readonly number[],
): Outcome<RiskCurve> {
  const p = fit.terms.length;
  const n = mix.x.length / p;
  if (!(mix.timeColumn >= 0 && mix.timeColumn < p))
    throw new Error(`timeColumn must lie below ${p}: ${mix.timeColumn}`);
  const others = columnsOf(mix.x, n, p).map((column, j) =>
    j === mix.timeColumn ? new Float64Array(n) : column,
  );
  const offset = mix.offset ?? new Float64Array(n);
  const cells = collapseRows([...others, offset], new Int32Array(n), mix.weight);
  const isSet = (cell: number, parameter: number): boolean => others[parameter]![cells.firstRow[cell]!] !== 0;
  const means = meansOver(fit, times, { weight: cells.count, isSet }, (cell, time, share, slopes, at) => {
    const from = cells.firstRow[cell]!;
    const values = Float64Array.from(others, (column) => column[from]!);
    values[mix.timeColumn] = Math.log(time / mix.referenceTime) - offset[from]!;
    const eta = product(values, fit.theta);
    const slope = inverseLinkSlope(fit.link, eta);
    for (let j = 0; j < p; j += 1) slopes[at + j]! += share * (slope * values[j]!);
    return inverseLink(fit.link, eta);
  });
  return isUnavailable(means) ? means : riskCurve(fit, [means]);
}

/** Risk at one time against another of the same curve. */
interface RiskContrast {
  readonly difference: Estimate;
  /** Interval on the log scale. */
  readonly ratio: Estimate;
}

/** Risk at `times[later]` less, and over, risk at `times[earlier]`, with delta-method intervals. */
export function riskContrast(curve: RiskCurve, later: number, earlier: number): RiskContrast {
  const a = curve.risk[later];
  const b = curve.risk[earlier];
  if (!a || !b) throw new Error(`positions must lie below ${curve.risk.length}: ${later}, ${earlier}`);
  const m = curve.times.length;
  const vAA = curve.covariance[later * m + later]!;
  const vBB = curve.covariance[earlier * m + earlier]!;
  const vAB = curve.covariance[later * m + earlier]!;
  const difference = a.estimate - b.estimate;
  const error = Math.sqrt(Math.max(0, vAA + vBB - 2 * vAB));
  const ratio = a.estimate / b.estimate;
  const relative = vAA / a.estimate ** 2 + vBB / b.estimate ** 2 - (2 * vAB) / (a.estimate * b.estimate);
  const logError = Math.sqrt(Math.max(0, relative));
  const z = Math.max(curve.multipliers[later]!, curve.multipliers[earlier]!);
  return {
    difference: {
      estimate: difference,
      stdError: error,
      low: difference - z * error,
      high: difference + z * error,
    },
    ratio: {
      estimate: ratio,
      stdError: ratio * logError,
      low: ratio * Math.exp(-z * logError),
      high: ratio * Math.exp(z * logError),
    },
  };
}

interface MixRows {
  readonly weight: Float64Array;
  /** Whether the covariate of a parameter is other than 0 in a row. */
  isSet(row: number, parameter: number): boolean;
}

/** Risk of a row at a time; adds `share` times its slope in each parameter to `slopes`, from place `at` on. */
type RiskAt = (row: number, time: number, share: number, slopes: Float64Array, at: number) => number;

/** Mean risk at each of m times, and how it changes with each of q parameters (m × q, row-major). */
interface RiskMeans {
  readonly times: readonly number[];
  readonly means: Float64Array;
  readonly jacobian: Float64Array;
  readonly nRows: number;
  readonly shareLeftOut: number;
}

function meansOver(
  { theta, limits }: Pick<PredictorFit, 'theta' | 'limits'>,
  times: readonly number[],
  { weight, isSet }: MixRows,
  riskAt: RiskAt,
): Outcome<RiskMeans> {
  for (const time of times) if (!(time > 0)) throw new Error(`times must be above 0: ${time}`);
  const whole = weight.reduce((sum, of) => sum + of, 0);
  if (whole === 0) return unavailable('no-rows', 'there are no records to average over.');
  const usable = Uint8Array.from(weight, (_, row) =>
    limits.every(({ parameter }) => !isSet(row, parameter)) ? 1 : 0,
  );
  const total = weight.reduce((sum, of, row) => sum + (usable[row] ? of : 0), 0);
  if (total === 0) return unavailable('no-events', 'no group here has events enough to estimate its risk.');
  const q = theta.length;
  const means = new Float64Array(times.length);
  const jacobian = new Float64Array(times.length * q);
  for (const [i, time] of times.entries()) {
    let sum = 0;
    for (let row = 0; row < weight.length; row += 1) {
      if (usable[row] === 0) continue;
      const share = weight[row]! / total;
      sum += share * riskAt(row, time, share, jacobian, i * q);
    }
    means[i] = sum;
  }
  return { times, means, jacobian, nRows: total, shareLeftOut: 1 - total / whole };
}

/** The curve through mean risks, which may come in several stretches of its times, with its errors. */
export function riskCurve(fit: PredictorFit, parts: readonly RiskMeans[]): Outcome<RiskCurve> {
  const q = fit.theta.length;
  const times = parts.flatMap((part) => part.times);
  const means = parts.flatMap((part) => Array.from(part.means));
  const jacobian = Float64Array.from(parts.flatMap((part) => Array.from(part.jacobian)));
  const m = times.length;
  const risk: Estimate[] = [];
  const multipliers: number[] = [];
  for (const [i, mean] of means.entries()) {
    const error = errorOf(fit, jacobian.slice(i * q, i * q + q));
    if (isUnavailable(error)) return error;
    risk.push(riskEstimate(mean, error.stdError, error.multiplier));
    multipliers.push(error.multiplier);
  }
  const transposed = Float64Array.from(
    { length: q * m },
    (_, at) => jacobian[(at % m) * q + Math.floor(at / m)]!,
  );
  return {
    times,
    risk,
    covariance: multiply(multiply(jacobian, fit.covariance, m, q, q), transposed, m, q, m),
    multipliers,
    nRows: parts[0]!.nRows,
    shareLeftOut: parts[0]!.shareLeftOut,
  };
}

function riskEstimate(risk: number, stdError: number, multiplier: number): Estimate {
  const hazard = -Math.log1p(-risk);
  const spread = (multiplier * stdError) / ((1 - risk) * hazard);
  return {
    estimate: risk,
    stdError,
    low: -Math.expm1(-hazard * Math.exp(-spread)),
    high: -Math.expm1(-hazard * Math.exp(spread)),
  };
}

function product(row: Float64Array, theta: Float64Array): number {
  let sum = 0;
  for (let j = 0; j < row.length; j += 1) if (row[j] !== 0) sum += row[j]! * theta[j]!;
  return sum;
}
