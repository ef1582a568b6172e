import { dot, factorSpd, type SpdFactor, type SquareMatrix } from './linear-algebra.ts';
import { addCross, addOuter, type OwnColumns, ownColumns, scatter } from './nested-columns.ts';

/** Days per unit of rate: a rate is an amount per 30 days. */
export const RATE_DAYS = 30;

/** Rows of y = z·x'β + z·u(cluster) + z·v(unit) + ε with z = days / 30; units are nested in clusters. */
export interface NestedSlopesData {
  /** n lengths of time in days, positive. */
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

/** One evaluation of the profiled REML criterion at λ1 (cluster) and λ2 (unit), both relative to σ². */
export interface NestedEvaluation {
  /** Residual quadratic form: (n − p) s². */
  readonly quadratic: number;
  /** Σlog(1 + λ2S) + Σlog(1 + λ1T) + log|A|. */
  readonly logDeterminants: number;
  /** −2 REML log-likelihood, with its constants. */
  readonly criterion: number;
  /** β less `base`. */
  readonly beta: Float64Array;
  readonly factor: SpdFactor;
}

/**
 * Per unit k = 1/(1 + λ2S), c2 = λ2k; per cluster T = ΣkS, Uh = ΣkU, vh = Σkv, c1 = λ1/(1 + λ1T);
 * A = X'X − Σc2UU' − Σc1UhUh', b and q alike, β = A⁻¹b. The inverse of a covariance with nested random slopes by
 * the Sherman–Morrison identity, twice; Harville 1977, J Am Stat Assoc 72:320–338 for the criterion.
 */
export function evaluateNested(sums: NestedSums, l1: number, l2: number): NestedEvaluation | null {
  const { p, v, s, own, clusterStart } = sums;
  const a = Float64Array.from(sums.xx);
  const b = Float64Array.from(sums.xy);
  let q = sums.yy;
  let logs = 0;
  const uh = new Float64Array(p);
  const outer = new Float64Array((p * (p + 1)) / 2);
  const linear = new Float64Array(p);
  for (let g = 0; g + 1 < clusterStart.length; g++) {
    let t = 0;
    let vh = 0;
    const m = own.columnStart[g + 1]! - own.columnStart[g]!;
    let at = own.valueStart[g]!;
    uh.fill(0, 0, m);
    linear.fill(0, 0, m);
    outer.fill(0, 0, (m * (m + 1)) / 2);
    for (let unit = clusterStart[g]!; unit < clusterStart[g + 1]!; unit++, at += m) {
      const k = 1 / (1 + l2 * s[unit]!);
      t += k * s[unit]!;
      vh += k * v[unit]!;
      addScaled(uh, own.values, at, m, k);
      if (l2 > 0) {
        logs += Math.log1p(l2 * s[unit]!);
        q -= l2 * k * v[unit]! ** 2;
        addScaled(linear, own.values, at, m, -l2 * k * v[unit]!);
        addOuter(outer, own.values, at, m, -l2 * k);
      }
    }
    if (l1 > 0) {
      const c1 = l1 / (1 + l1 * t);
      logs += Math.log1p(l1 * t);
      q -= c1 * vh * vh;
      addScaled(linear, uh, 0, m, -c1 * vh);
      addOuter(outer, uh, 0, m, -c1);
    }
    scatter(a, p, outer, own, g);
    for (let i = 0; i < m; i++) b[own.columns[own.columnStart[g]! + i]!]! += linear[i]!;
  }
  mirror(a, p);
  const factor = factorSpd(a, p);
  if (!factor) return null;
  const beta = factor.solve(b);
  const quadratic = q - dot(b, beta);
  if (!(quadratic > 0)) return null;
  const freedom = sums.n - p;
  const logDeterminants = logs + factor.logDeterminant();
  return {
    quadratic,
    logDeterminants,
    criterion: freedom * (1 + Math.log((2 * Math.PI * quadratic) / freedom)) + logDeterminants,
    beta,
    factor,
  };
}

/** Derivatives by λ1 and λ2 of the quadratic form and of the log-determinants at an evaluation. */
export interface NestedSlope {
  readonly quadratic: readonly [number, number];
  readonly logDeterminants: readonly [number, number];
}

export function slopeNested(sums: NestedSums, l1: number, l2: number, at: NestedEvaluation): NestedSlope {
  const { p, v, s, own, clusterStart } = sums;
  const inverse = at.factor.inverse();
  const uh = new Float64Array(p);
  const duh = new Float64Array(p);
  const beta = new Float64Array(p);
  // −dA/dλ1 and −dA/dλ2, lower halves, first of a cluster alone; their traces against A⁻¹ are taken once at the end.
  const [fall1, fall2] = [new Float64Array(p * p), new Float64Array(p * p)];
  const half = (p * (p + 1)) / 2;
  const [outer1, outer2] = [new Float64Array(half), new Float64Array(half)];
  let [q1, q2, d1, d2] = [0, 0, 0, 0];
  for (let g = 0; g + 1 < clusterStart.length; g++) {
    let [t, dt, rh, drh] = [0, 0, 0, 0];
    const from = own.columnStart[g]!;
    const m = own.columnStart[g + 1]! - from;
    for (let i = 0; i < m; i++) beta[i] = at.beta[own.columns[from + i]!]!;
    uh.fill(0, 0, m);
    duh.fill(0, 0, m);
    outer1.fill(0, 0, (m * (m + 1)) / 2);
    outer2.fill(0, 0, (m * (m + 1)) / 2);
    let place = own.valueStart[g]!;
    for (let unit = clusterStart[g]!; unit < clusterStart[g + 1]!; unit++, place += m) {
      const su = s[unit]!;
      const k = 1 / (1 + l2 * su);
      let r = v[unit]!;
      for (let j = 0; j < m; j++) {
        const value = own.values[place + j]!;
        r -= value * beta[j]!;
        uh[j]! += k * value;
        duh[j]! -= k * k * su * value;
      }
      t += k * su;
      dt -= k * k * su * su;
      rh += k * r;
      drh -= k * k * su * r;
      q2 -= k * k * r * r;
      d2 += k * su;
      addOuter(outer2, own.values, place, m, k * k);
    }
    const h = 1 / (1 + l1 * t);
    const c1 = l1 * h;
    q1 -= h * h * rh * rh;
    d1 += h * t;
    addOuter(outer1, uh, 0, m, h * h);
    q2 -= 2 * c1 * rh * drh - c1 * c1 * dt * rh * rh;
    d2 += c1 * dt;
    if (l1 > 0) {
      addOuter(outer2, uh, 0, m, -c1 * c1 * dt);
      addCross(outer2, uh, duh, m, c1);
    }
    scatter(fall1, p, outer1, own, g);
    scatter(fall2, p, outer2, own, g);
  }
  return {
    quadratic: [q1, q2],
    logDeterminants: [d1 - halfTrace(inverse, fall1, p), d2 - halfTrace(inverse, fall2, p)],
  };
}

/** Derivatives of the profiled criterion by λ1 and λ2. */
export function criterionSlope(
  sums: NestedSums,
  l1: number,
  l2: number,
  at: NestedEvaluation,
): [number, number] {
  const slope = slopeNested(sums, l1, l2, at);
  const factor = (sums.n - sums.p) / at.quadratic;
  return [
    factor * slope.quadratic[0] + slope.logDeterminants[0],
    factor * slope.quadratic[1] + slope.logDeterminants[1],
  ];
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

/** to += factor · (row at offset of from). */
function addScaled(to: Float64Array, from: Float64Array, offset: number, p: number, factor: number): void {
  for (let j = 0; j < p; j++) to[j]! += factor * from[offset + j]!;
}

/** tr(M A) of two symmetric matrices, the second given by its lower half. */
function halfTrace(m: SquareMatrix, half: SquareMatrix, p: number): number {
  let sum = 0;
  for (let i = 0; i < p; i++) {
    sum += m[i * p + i]! * half[i * p + i]!;
    for (let j = 0; j < i; j++) sum += 2 * m[i * p + j]! * half[i * p + j]!;
  }
  return sum;
}

function mirror(a: SquareMatrix, p: number): void {
  for (let i = 0; i < p; i++) for (let j = 0; j < i; j++) a[j * p + i] = a[i * p + j]!;
}
