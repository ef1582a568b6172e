import { columnTitle } from '../core/format-value.ts';
import { cellAt } from '../core/table.ts';
import { type ChartTable, type ChartValue, distinct, type Layer, POSITIONS } from './chart-data.ts';
import type { AxisSpec, ChartSpec } from './chart-spec.ts';

type AxisSide = 'x' | 'y';
type AxisKind = 'linear' | 'log' | 'band' | 'date';

export interface Axis {
  readonly side: AxisSide;
  readonly kind: AxisKind;
  /** With its unit; empty where neither the page nor the data has one. */
  readonly title: string;
  /** Categories in order, or the two ends. */
  readonly domain: readonly (string | number | Date)[];
  readonly format: 'number' | 'percent' | 'month';
  /** Values at or below zero, which a log axis cannot hold. */
  readonly unfit: number;
}

function valuesOf(layers: readonly Layer[], side: AxisSide): ChartValue[] {
  const positions = POSITIONS.filter((name) => name.startsWith(side));
  return layers.flatMap((layer) =>
    layer.rows.flatMap((datum) => positions.flatMap((name) => datum.at[name] ?? [])),
  );
}

function kindOf(spec: AxisSpec, values: readonly ChartValue[]): AxisKind {
  if (spec.scale) return spec.scale;
  if (values.some((value) => value instanceof Date)) return 'date';
  return values.some((value) => typeof value === 'string') ? 'band' : 'linear';
}

/** The title that the page gives, or else what the first column on this side is called. */
function titleOf(spec: AxisSpec, layers: readonly Layer[], side: AxisSide): string {
  const positions = POSITIONS.filter((name) => name.startsWith(side));
  const column = layers
    .flatMap(({ mark, source }) =>
      positions.map((name) => source.columns.find((each) => each.name === mark[name])),
    )
    .find((each) => each !== undefined);
  const label = spec.label ?? column?.label ?? '';
  // An axis in per cent has the sign at each figure.
  const unit = spec.unit ?? (column?.share ? undefined : column?.unit);
  return label === '' ? (unit ?? '') : columnTitle(unit ? { label, unit } : { label });
}

function categories(spec: AxisSpec, source: ChartTable, column: string | null, present: string[]): string[] {
  if (spec.order) {
    const wanted = spec.order.map(String);
    return [
      ...wanted.filter((each) => present.includes(each)),
      ...present.filter((each) => !wanted.includes(each)),
    ];
  }
  const { sort } = spec;
  if (!sort || column === null) return present;
  if (!source.table.columns[sort.by]) throw new Error(`sort must name a column of the data: ${sort.by}`);
  const key = new Map<string, string | number>();
  for (let row = 0; row < source.table.rowCount; row += 1) {
    const category = String(cellAt(source.table, column, row));
    const value = cellAt(source.table, sort.by, row);
    if (value !== null && typeof value !== 'boolean' && !key.has(category)) key.set(category, value);
  }
  const sign = sort.order === 'descending' ? -1 : 1;
  // Categories without a value to sort by come last either way.
  return [...present].sort((a, b) => {
    const [left, right] = [key.get(a), key.get(b)];
    if (left === undefined || right === undefined)
      return Number(left === undefined) - Number(right === undefined);
    return left < right ? -sign : left > right ? sign : 0;
  });
}

function ends(spec: AxisSpec, numbers: readonly number[]): [number, number] {
  let low = numbers.reduce((least, each) => Math.min(least, each), Infinity);
  let high = numbers.reduce((most, each) => Math.max(most, each), -Infinity);
  if (spec.zero) [low, high] = [Math.min(low, 0), Math.max(high, 0)];
  low = spec.min ?? low;
  high = spec.max ?? high;
  if (low < high) return [low, high];
  const pad = Math.abs(low) * 0.1 || 1;
  return [low - pad, high + pad];
}

export function chartAxis(
  side: AxisSide,
  spec: ChartSpec,
  layers: readonly Layer[],
  tables: Readonly<Record<string, ChartTable>>,
): Axis {
  const axis = spec[side];
  const values = valuesOf(layers, side);
  const kind = kindOf(axis, values);
  const base = { side, kind, title: titleOf(axis, layers, side), format: axis.format ?? 'number' } as const;
  if (kind === 'band') {
    const first = layers.find(({ mark, data }) => data === spec.data && typeof mark[side] === 'string');
    const column = (first?.mark[side] as string | undefined) ?? null;
    const present = distinct(values).map(String);
    return { ...base, domain: categories(axis, tables[spec.data]!, column, [...new Set(present)]), unfit: 0 };
  }
  const numbers = values.flatMap((value) =>
    value === null || typeof value === 'string' ? [] : [Number(value)],
  );
  const fit = kind === 'log' ? numbers.filter((value) => value > 0) : numbers;
  const [low, high] = ends(axis, fit);
  const domain = kind === 'date' ? [new Date(low), new Date(high)] : [low, high];
  return { ...base, domain, unfit: numbers.length - fit.length };
}
