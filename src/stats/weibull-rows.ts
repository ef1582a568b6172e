import { type Unavailable, unavailable } from '../core/outcome.ts';
import { checkIntervals, type IntervalData } from './interval-data.ts';
import { collinearColumns } from './linear-algebra.ts';
import type { WeibullRows } from './weibull-likelihood.ts';

/** `x` is n × p row-major without an intercept; `terms` names its columns; `cluster` holds n ids. */
export interface WeibullData extends IntervalData {
  readonly x: Float64Array;
  readonly terms: readonly string[];
  readonly cluster?: Int32Array;
}

/** A 0/1 column whose rows never (or always, from the first look) had the event: its coefficient has no finite value. */
export interface SilentColumn {
  readonly column: number;
  /** `below`: none had the event, the coefficient runs to −∞; `above`: all had it before the first look. */
  readonly direction: 'below' | 'above';
}

/** A 0/1 column with a single cluster at the value `side`. */
export interface LoneColumn {
  readonly column: number;
  readonly side: 0 | 1;
}

/** Throws where shapes do not fit, a value is missing, or a time of 0 is given as known. */
export function checkWeibullData(data: WeibullData): void {
  checkIntervals(data);
  const n = data.left.length;
  const p = data.terms.length;
  if (data.x.length !== n * p) throw new Error(`x must hold ${n} × ${p} values: ${data.x.length}`);
  if (data.x.some((v) => !Number.isFinite(v))) throw new Error('x must be finite in every row');
  if (data.cluster && data.cluster.length !== n) {
    throw new Error(`cluster must be as long as left: ${data.cluster.length}, ${n}`);
  }
  for (const r of data.right) if (!(r > 0)) throw new Error(`right must be above 0: ${r}`);
}

/** Row numbers that count: of positive weight and not (0, ∞). */
export function informativeRows({ left, right, weight }: WeibullData): number[] {
  return Array.from(left.keys()).filter(
    (i) => (weight?.[i] ?? 1) > 0 && !(left[i] === 0 && right[i] === Number.POSITIVE_INFINITY),
  );
}

/**
 * Silent columns, columns of which one side rests on a single cluster, and the rows and columns left once they and
 * the rows on that side are out. A lone cluster's score sums to 0 at the maximum, so its clustered error would be
 * falsely small: cluster and level cannot be told apart.
 */
export function setApart(data: WeibullData, informative: readonly number[]) {
  const p = data.terms.length;
  let rows = [...informative];
  let columns = Array.from({ length: p }, (_, j) => j);
  const silent: SilentColumn[] = [];
  const lone: LoneColumn[] = [];
  for (let found = true; found; ) {
    found = false;
    for (const column of columns) {
      const direction = silentDirection(data, rows, column);
      const loneSide = direction ? null : loneClusterSide(data, rows, column);
      if (!direction && loneSide === null) continue;
      if (direction) silent.push({ column, direction });
      const out = loneSide ?? 1;
      if (!direction) lone.push({ column, side: out });
      rows = rows.filter((i) => data.x[i * p + column] !== out);
      columns = columns.filter((j) => j !== column);
      found = true;
      break;
    }
  }
  return { rows, columns, silent, lone };
}

/** The value, 0 or 1, that only one cluster has in a 0/1 column; null where there is none. */
function loneClusterSide(
  { x, terms, cluster }: WeibullData,
  rows: readonly number[],
  column: number,
): 0 | 1 | null {
  const p = terms.length;
  if (!cluster || rows.some((i) => x[i * p + column] !== 0 && x[i * p + column] !== 1)) return null;
  const clustersAt = (value: number) =>
    new Set(rows.filter((i) => x[i * p + column] === value).map((i) => cluster[i])).size;
  const [at0, at1] = [clustersAt(0), clustersAt(1)];
  // A constant column is for the rank check to name.
  if (at0 === 0 || at1 === 0) return null;
  if (at1 === 1) return 1;
  return at0 === 1 ? 0 : null;
}

function silentDirection(
  { left, right, x, terms }: WeibullData,
  rows: readonly number[],
  column: number,
): SilentColumn['direction'] | null {
  const p = terms.length;
  if (rows.some((i) => x[i * p + column] !== 0 && x[i * p + column] !== 1)) return null;
  const at = rows.filter((i) => x[i * p + column] === 1);
  if (at.length === 0 || at.length === rows.length) return null;
  if (at.every((i) => right[i] === Number.POSITIVE_INFINITY)) return 'below';
  return at.every((i) => left[i] === 0) ? 'above' : null;
}

/** Mean of log t over the finite ends above 0: the logarithm of the unit of time that the kernel works in. */
export function logTimeUnit({ left, right }: WeibullData, rows: readonly number[]): number {
  let sum = 0;
  let count = 0;
  for (const i of rows) {
    for (const t of [left[i]!, right[i]!]) {
      if (t === 0 || t === Number.POSITIVE_INFINITY) continue;
      sum += Math.log(t);
      count += 1;
    }
  }
  return sum / count;
}

/** Kernel rows for the chosen rows and columns. */
export function kernelRows(
  data: WeibullData,
  rows: readonly number[],
  columns: readonly number[],
  logUnit: number,
): WeibullRows {
  const p = data.terms.length;
  const q = columns.length + 1;
  const design = new Float64Array(rows.length * q);
  rows.forEach((i, k) => {
    design[k * q] = 1;
    columns.forEach((column, a) => {
      design[k * q + a + 1] = data.x[i * p + column]!;
    });
  });
  return {
    logLeft: Float64Array.from(rows, (i) => Math.log(data.left[i]!) - logUnit),
    logRight: Float64Array.from(rows, (i) => Math.log(data.right[i]!) - logUnit),
    design,
    weight: Float64Array.from(rows, (i) => data.weight?.[i] ?? 1),
    offset: new Float64Array(rows.length),
    q,
  };
}

/**
 * Terms and the shape must be told apart by the ends that were seen: rank of (1, x, log t) over every finite
 * end above 0. Where only log t adds nothing, all ends are alike and the shape cannot be estimated.
 */
export function checkRank(rows: WeibullRows, terms: readonly string[]): Unavailable | null {
  const { q, design } = rows;
  const p = q + 1;
  const cross = new Float64Array(p * p);
  const line = new Float64Array(p);
  rows.logLeft.forEach((left, i) => {
    const right = rows.logRight[i]!;
    for (const u of left === right ? [right] : [left, right]) {
      if (!Number.isFinite(u)) continue;
      for (let a = 0; a < q; a += 1) line[a] = design[i * q + a]!;
      line[q] = u;
      for (let a = 0; a < p; a += 1) for (let b = 0; b < p; b += 1) cross[a * p + b]! += line[a]! * line[b]!;
    }
  });
  const found = collinearColumns(cross, p);
  const names = found.filter((j) => j > 0 && j < q).map((j) => terms[j - 1]!);
  if (names.length > 0) {
    return unavailable(
      'collinear',
      `These records cannot tell the terms apart: ${names.join(', ')} never varies on its own.`,
    );
  }
  if (found.length === 0) return null;
  return unavailable(
    'equal-intervals',
    'Every look came after the same time, so how the risk changes as time passes cannot be said.',
  );
}
