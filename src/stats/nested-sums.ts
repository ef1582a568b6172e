import type { SpdFactor, SquareMatrix } from './linear-algebra.ts';
import { type OwnColumns, ownColumns } from './nested-columns.ts';
import { type NestedPlaces, placeUnits } from './nested-places.ts';

/** Days per unit of rate: a rate is an amount per 30 days. */
export const RATE_DAYS = 30;

/** Rows of y = z·x'β + z·u(cluster) + z·v(unit) + ε with z = days / 30; units are nested in clusters. */
export interface NestedSlopesData {
  /** n lengths of time in days, 0 or more. */
  readonly days: Float64Array;
  /** n amounts. */
  readonly y: Float64Array;
  /** n × p row-major rate design, not yet multiplied by time. */
  readonly x: Float64Array;
  /** n ids, any integers. */
  readonly cluster: Int32Array;
  /** n ids, any integers; a unit belongs to one cluster. */
  readonly unit: Int32Array;
}

/** Sums of the rows z·x, by unit and in all, before anything else is known about them. */
interface RateSums extends NestedPlaces {
  readonly n: number;
  readonly p: number;
  /** X'X and X'y. */
  readonly xx: SquareMatrix;
  readonly crude: Float64Array;
  readonly unitRows: Int32Array;
  /** Σz² per unit. */
  readonly s: Float64Array;
  /** Σz(zx) per unit, units × p. */
  readonly u: Float64Array;
}

/** Everything that the likelihood needs. */
export interface NestedSums extends RateSums {
  /** Least-squares coefficients that were taken out of y before summing, against cancellation. */
  readonly base: Float64Array;
  readonly xy: Float64Array;
  readonly yy: number;
  readonly own: OwnColumns;
  /** Σzy per unit (y less its least-squares fit). */
  readonly v: Float64Array;
}

/**
 * Rows are summed so many at a time, each time by a call of its own: a loop over all of them, once in a session, is over
 * before the browser has made it quick.
 */
const STRETCH_ROWS = 4096;

/** One look at every row. */
export function rateSums(data: NestedSlopesData, p: number): RateSums {
  const { clusterIds, unitIds, clusterStart, rowUnit, unitRow } = placeUnits(data.cluster, data.unit);
  const n = data.y.length;
  const units = unitIds.length;
  const sums: RateSums = {
    n,
    p,
    clusterIds,
    unitIds,
    clusterStart,
    rowUnit,
    unitRow,
    xx: new Float64Array(p * p),
    crude: new Float64Array(p),
    unitRows: new Int32Array(units),
    s: new Float64Array(units),
    u: new Float64Array(units * p),
  };
  for (let from = 0; from < n; from += STRETCH_ROWS)
    addRows(sums, data, from, Math.min(n, from + STRETCH_ROWS));
  mirror(sums.xx, p);
  return sums;
}

/** Adds rows; the columns of a row that are 0, as most marks are, are passed over. */
function addRows(sums: RateSums, { days, y, x }: NestedSlopesData, from: number, to: number): void {
  const { p, rowUnit, xx, crude, unitRows, s, u } = sums;
  const column = new Int32Array(p);
  const value = new Float64Array(p);
  for (let row = from, at = from * p; row < to; row++) {
    const z = days[row]! / RATE_DAYS;
    const zz = z * z;
    let size = 0;
    for (let j = 0; j < p; j++, at++) {
      if (x[at] === 0) continue;
      column[size] = j;
      value[size++] = x[at]!;
    }
    const here = rowUnit[row]!;
    const zy = z * y[row]!;
    unitRows[here]!++;
    s[here]! += zz;
    for (let i = 0; i < size; i++) {
      const of = column[i]!;
      const left = zz * value[i]!;
      u[here * p + of]! += left;
      crude[of]! += zy * value[i]!;
      for (let j = 0, place = of * p; j <= i; j++) xx[place + column[j]!]! += left * value[j]!;
    }
  }
}

/** The sums of one data set whose cross-product is positive definite. */
export function nestedSums(data: NestedSlopesData, rates: RateSums, factor: SpdFactor): NestedSums {
  // Every member by name: what is spread anew each time is another kind of object to the loops that read it, and slow.
  const { n, p, clusterIds, unitIds, clusterStart, rowUnit, unitRow, xx, crude, unitRows, s, u } = rates;
  const base = factor.solve(crude);
  const v = new Float64Array(s.length);
  let yy = 0;
  for (let from = 0; from < n; from += STRETCH_ROWS) {
    yy += addResiduals(v, data, rowUnit, base, from, Math.min(n, from + STRETCH_ROWS));
  }
  // What solving left over, by rounding.
  const xy = Float64Array.from(crude);
  for (let i = 0; i < p; i++) for (let j = 0; j < p; j++) xy[i]! -= xx[i * p + j]! * base[j]!;
  const own = ownColumns(clusterStart, u, p);
  return {
    n,
    p,
    clusterIds,
    unitIds,
    clusterStart,
    rowUnit,
    unitRow,
    xx,
    crude,
    unitRows,
    s,
    u,
    base,
    xy,
    yy,
    v,
    own,
  };
}

/** Adds zr of each row to its unit, r being what is left of y; gives Σr². */
function addResiduals(
  v: Float64Array,
  { days, y, x }: NestedSlopesData,
  rowUnit: Int32Array,
  base: Float64Array,
  from: number,
  to: number,
): number {
  const p = base.length;
  let sum = 0;
  for (let row = from; row < to; row++) {
    const z = days[row]! / RATE_DAYS;
    const residual = y[row]! - z * rowDot(x, row, p, base);
    sum += residual * residual;
    v[rowUnit[row]!]! += z * residual;
  }
  return sum;
}

/** x'b of one row. */
export function rowDot(x: Float64Array, row: number, p: number, b: Float64Array): number {
  let sum = 0;
  for (let j = 0, at = row * p; j < p; j++, at++) sum += x[at]! * b[j]!;
  return sum;
}

export function mirror(a: SquareMatrix, p: number): void {
  for (let i = 0; i < p; i++) for (let j = 0; j < i; j++) a[j * p + i] = a[i * p + j]!;
}
