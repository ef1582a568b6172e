import type { SpdFactor, SquareMatrix } from './linear-algebra.ts';
import { type OwnColumns, ownColumns } from './nested-columns.ts';

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

/** Everything that the likelihood needs: sums per unit, units lying together by cluster, ids ascending. */
export interface NestedSums {
  readonly n: number;
  readonly p: number;
  /** Least-squares coefficients that were taken out of y before summing, against cancellation. */
  readonly base: Float64Array;
  readonly xx: SquareMatrix;
  readonly xy: Float64Array;
  readonly yy: number;
  readonly clusterIds: Int32Array;
  readonly unitIds: Int32Array;
  /** Units of cluster g: from clusterStart[g] up to clusterStart[g + 1]. */
  readonly clusterStart: Int32Array;
  readonly unitRows: Int32Array;
  /** Σz² per unit. */
  readonly s: Float64Array;
  /** Σz(zx) per unit, units × p. */
  readonly u: Float64Array;
  readonly own: OwnColumns;
  /** Σzy per unit (y less its least-squares fit). */
  readonly v: Float64Array;
  /** Which unit each row belongs to. */
  readonly rowUnit: Int32Array;
}

/** X'X of the rows z·x, before anything else is known about them. */
export function rateCrossProduct(data: NestedSlopesData, p: number): SquareMatrix {
  const xx = new Float64Array(p * p);
  for (let row = 0; row < data.y.length; row++) {
    const zz = (data.days[row]! / RATE_DAYS) ** 2;
    for (let i = 0; i < p; i++) {
      const value = zz * data.x[row * p + i]!;
      if (value === 0) continue;
      for (let j = 0; j <= i; j++) xx[i * p + j]! += value * data.x[row * p + j]!;
    }
  }
  mirror(xx, p);
  return xx;
}

/** The sums of one data set whose cross-product is positive definite. */
export function nestedSums(data: NestedSlopesData, xx: SquareMatrix, factor: SpdFactor): NestedSums {
  const n = data.y.length;
  const p = Math.round(Math.sqrt(xx.length));
  const places = placeUnits(data.cluster, data.unit);
  const units = places.unitIds.length;

  const crude = new Float64Array(p);
  for (let row = 0; row < n; row++) addRow(crude, data, row, p, data.y[row]!);
  const base = factor.solve(crude);

  const xy = new Float64Array(p);
  const s = new Float64Array(units);
  const u = new Float64Array(units * p);
  const v = new Float64Array(units);
  const unitRows = new Int32Array(units);
  let yy = 0;
  for (let row = 0; row < n; row++) {
    const z = data.days[row]! / RATE_DAYS;
    const residual = data.y[row]! - z * rowDot(data.x, row, p, base);
    const unit = places.rowUnit[row]!;
    yy += residual * residual;
    unitRows[unit]!++;
    s[unit]! += z * z;
    v[unit]! += z * residual;
    for (let j = 0; j < p; j++) u[unit * p + j]! += z * z * data.x[row * p + j]!;
    addRow(xy, data, row, p, residual);
  }
  return { n, p, base, xx, xy, yy, ...places, unitRows, s, u, v, own: ownColumns(places.clusterStart, u, p) };
}

/** x'b of one row. */
export function rowDot(x: Float64Array, row: number, p: number, b: Float64Array): number {
  let sum = 0;
  for (let j = 0; j < p; j++) sum += x[row * p + j]! * b[j]!;
  return sum;
}

function addRow(to: Float64Array, data: NestedSlopesData, row: number, p: number, value: number): void {
  const z = data.days[row]! / RATE_DAYS;
  for (let j = 0; j < p; j++) to[j]! += z * data.x[row * p + j]! * value;
}

function placeUnits(cluster: Int32Array, unit: Int32Array) {
  const clusterOf = new Map<number, number>();
  for (let row = 0; row < unit.length; row++) {
    // Rows of one unit often stand together.
    if (row > 0 && unit[row] === unit[row - 1] && cluster[row] === cluster[row - 1]) continue;
    const known = clusterOf.get(unit[row]!);
    if (known === undefined) clusterOf.set(unit[row]!, cluster[row]!);
    else if (known !== cluster[row]) throw new Error(`a unit must lie in one cluster: ${unit[row]}`);
  }
  const order = [...clusterOf].sort(([ua, ca], [ub, cb]) => ca - cb || ua - ub);
  const unitIds = Int32Array.from(order, ([id]) => id);
  const clusterIds = Int32Array.from(new Set(order.map(([, id]) => id)));
  const starts: number[] = [];
  order.forEach(([, id], i) => {
    if (i === 0 || order[i - 1]![1] !== id) starts.push(i);
  });
  const place = new Map(order.map(([id], i) => [id, i]));
  const rowUnit = new Int32Array(unit.length);
  for (let row = 0; row < unit.length; row++) {
    rowUnit[row] = row > 0 && unit[row] === unit[row - 1] ? rowUnit[row - 1]! : place.get(unit[row]!)!;
  }
  return { unitIds, clusterIds, clusterStart: Int32Array.from([...starts, order.length]), rowUnit };
}

export function mirror(a: SquareMatrix, p: number): void {
  for (let i = 0; i < p; i++) for (let j = 0; j < i; j++) a[j * p + i] = a[i * p + j]!;
}
