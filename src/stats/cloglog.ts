import { isUnavailable, type Outcome, unavailable } from '../core/outcome.ts';
import { type Cells, cellRows, collapseRows } from './cells.ts';
import { crossProduct, filledCells, predictorsOf } from './filled-cells.ts';
import type { Numbered } from './number-keys.ts';
import {
  checkDesign,
  type FitOptions,
  fitPredictors,
  levelStart,
  type PredictorFit,
} from './predictor-fit.ts';
import type { CellKernel, PredictorModel } from './predictor-model.ts';

type Link = 'cloglog' | 'logit';

/** One row an observation (or a group of alike ones): arrays of length n unless said. */
export interface BinaryData {
  /** 0 or 1. */
  readonly event: ArrayLike<number>;
  /** Covariates, row-major n × terms.length; a column of ones where an intercept is wanted. */
  readonly x: Float64Array;
  readonly terms: readonly string[];
  /** Any integers. */
  readonly cluster: ArrayLike<number>;
  /** How many times each row counts; 1 where absent. */
  readonly weight?: ArrayLike<number>;
}

/** The same, collapsed to cells by whoever gathered the rows: values of each cell, in the order of the cells. */
interface BinaryCells extends Pick<BinaryData, 'event' | 'x' | 'terms'> {
  readonly cells: Cells;
  /** Numbers cells such that those with the same covariates, and no others, share a number; found here where absent. */
  readonly alike?: Numbered;
}

interface BinaryOptions extends FitOptions {
  /** Default `cloglog`: log(−log(1 − p)) = x'β. */
  readonly link?: Link;
}

export interface BinaryFit extends PredictorFit {
  readonly link: Link;
  readonly nEvents: number;
}

/**
 * Binary regression by maximum likelihood. The `model` covariance and the bread of the sandwich are the inverse
 * *expected* information, as in R's glm and sandwich. Typed `no-rows`, `no-events`, `all-events`, `collinear`,
 * `no-overlap` (complete or quasi-complete separation along several terms), `one-cluster`, `not-converged`; a group
 * without events, or with nothing else, becomes a limit.
 * McCullagh & Nelder 1989, Generalized Linear Models, ch. 4; with log(time) among the covariates the complementary
 * log-log link is a Weibull model for current-status data, its coefficient the exponent.
 */
export function fitBinary(data: BinaryData | BinaryCells, options: BinaryOptions = {}): Outcome<BinaryFit> {
  const link = options.link ?? 'cloglog';
  const n = 'cells' in data ? data.cells.nCells : data.cluster.length;
  const p = data.terms.length;
  for (let row = 0; row < n; row += 1) {
    const y = data.event[row];
    if (y !== 0 && y !== 1) throw new Error(`event must be 0 or 1: ${y} in row ${row}`);
  }
  const { cells, event, x, alike }: BinaryCells = 'cells' in data ? data : binaryCells(data);
  const nEvents = cells.count.reduce((sum, count, cell) => sum + count * event[cell]!, 0);
  if (cells.nCells === 0) return unavailable('no-rows', 'there are no records to work from.');
  if (nEvents === 0)
    return unavailable('no-events', 'no event was seen in these records, so its risk cannot be estimated.');
  if (nEvents === cells.nRows) {
    return unavailable('all-events', 'every record ended with the event, so no risk can be estimated.');
  }
  const filled = filledCells([{ columns: p, values: x }], cells.nCells, alike);
  const refused = checkDesign(filled, cells.count, data.terms);
  if (refused) return refused;
  const share = nEvents / cells.nRows;
  const model: PredictorModel = { kernel: KERNELS[link](event), cells, filled };
  const fit = fitPredictors(model, {
    ...options,
    terms: data.terms,
    start: levelStart(filled, cells.count, linkOf(link, share)),
    information: (theta) => expectedInformation(model, theta, link),
  });
  return isUnavailable(fit) ? fit : { ...fit, link, nEvents };
}

function binaryCells({ event, x, terms, cluster, weight }: BinaryData): BinaryCells {
  const p = terms.length;
  const cells = collapseRows([event, { matrix: x, width: p }], cluster, weight);
  return {
    cells,
    event: Float64Array.from(cells.firstRow, (row) => event[row]!),
    x: cellRows(cells, x, p),
    terms,
  };
}

/** The probability at a linear predictor. */
export function inverseLink(link: Link, eta: number): number {
  return link === 'cloglog' ? -Math.expm1(-Math.exp(eta)) : 1 / (1 + Math.exp(-eta));
}

/** dp/dη. */
export function inverseLinkSlope(link: Link, eta: number): number {
  if (link === 'cloglog') return Math.exp(eta - Math.exp(eta));
  const p = inverseLink(link, eta);
  return p * (1 - p);
}

export function linkOf(link: Link, p: number): number {
  return link === 'cloglog' ? Math.log(-Math.log1p(-p)) : Math.log(p / (1 - p));
}

const KERNELS: Record<Link, (event: ArrayLike<number>) => CellKernel> = {
  cloglog: (event) => ({
    predictors: 1,
    at(cell, eta, out) {
      const h = Math.exp(eta[0]!);
      if (event[cell] === 0) {
        out[0] = -h;
        out[1] = -h;
        out[2] = -h;
        return;
      }
      const toEvent = h / Math.expm1(h);
      out[0] = h > 40 ? -Math.exp(-h) : Math.log(-Math.expm1(-h));
      out[1] = toEvent;
      // d/dη of h/(e^h − 1), in which h + toEvent = h·e^h/(e^h − 1).
      out[2] = toEvent * (1 - h - toEvent);
    },
  }),
  logit: (event) => ({
    predictors: 1,
    at(cell, eta, out) {
      const signed = event[cell] === 1 ? eta[0]! : -eta[0]!;
      const p = 1 / (1 + Math.exp(-eta[0]!));
      out[0] = signed > 0 ? -Math.log1p(Math.exp(-signed)) : signed - Math.log1p(Math.exp(signed));
      out[1] = event[cell]! - p;
      out[2] = -p * (1 - p);
    },
  }),
};

/** Σ (dp/dη)²/(p(1 − p)) x x'. */
function expectedInformation(
  { cells, filled }: PredictorModel,
  theta: Float64Array,
  link: Link,
): Float64Array {
  const etas = predictorsOf(filled, theta, 1);
  const weight = new Float64Array(cells.nCells);
  for (let cell = 0; cell < cells.nCells; cell += 1) {
    weight[cell] = cells.count[cell]! * curvature(link, etas[filled.numberOf[cell]!]!);
  }
  return crossProduct(filled, weight);
}

function curvature(link: Link, eta: number): number {
  if (link === 'logit') return inverseLinkSlope(link, eta);
  const h = Math.exp(eta);
  return h > 700 ? 0 : (h * h) / Math.expm1(h);
}
