import type { ResultColumn } from '../analyses/analysis.ts';
import { dateOfDay, dayFromIso } from '../core/civil-day.ts';
import { columnTitle, formatCell, formatNumber } from '../core/format-value.ts';
import { cellAt, type Table } from '../core/table.ts';
import type { ChartSpec, MarkSpec } from './chart-spec.ts';

/** What a chart knows of a table: finished numbers, and what their columns are called. */
export interface ChartTable {
  readonly table: Table;
  /** The same before its lengths were converted to be shown: filters are written in terms of it. */
  readonly stored?: Table;
  readonly columns: readonly ResultColumn[];
  /** Of the analysis as a whole, where the table comes from one. */
  readonly counts?: { readonly horses: number; readonly feet: number; readonly cycles: number } | undefined;
}

export type ChartValue = number | string | Date | null;
export const POSITIONS = ['x', 'y', 'x1', 'x2', 'y1', 'y2'] as const;
export type Position = (typeof POSITIONS)[number];

/** One row of a mark, its channels read out. `row` is -1 for a constant that stands on no row. */
export interface Datum {
  readonly row: number;
  readonly at: Readonly<Partial<Record<Position, ChartValue>>>;
  readonly by: string | null;
  readonly series: string | null;
  readonly facet: string | null;
  readonly text: string | null;
  readonly fill: number | null;
  /** The count that stands beside it, in words. */
  readonly beside: string | null;
  /** For people who point at it: one line a channel. */
  readonly title: string;
}

export interface Layer {
  readonly mark: MarkSpec;
  readonly data: string;
  readonly source: ChartTable;
  readonly rows: readonly Datum[];
  /** Rows that could not be drawn, since a position was missing. */
  readonly missing: number;
  readonly hasFacet: boolean;
}

const isContinuous = (mark: MarkSpec) => mark.mark === 'line' || mark.mark === 'step' || mark.mark === 'band';

function read(table: Table, channel: string | number, row: number): ChartValue {
  if (typeof channel === 'number') return channel;
  const column = table.columns[channel];
  if (!column) {
    const day = dayFromIso(channel);
    if (day !== null) return dateOfDay(day);
    const names = Object.keys(table.columns).filter((name) => !name.startsWith('behind'));
    throw new Error(`chart must read columns that its data has (${names.join(', ')}): ${channel}`);
  }
  const value = cellAt(table, channel, row);
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  return column.type === 'day' && typeof value === 'number' ? dateOfDay(value) : value;
}

function keeps(table: Table, mark: MarkSpec, row: number): boolean {
  return Object.entries(mark.filter ?? {}).every(([name, wanted]) => {
    if (!table.columns[name]) throw new Error(`filter must name a column of the data: ${name}`);
    const value = cellAt(table, name, row);
    if (Array.isArray(wanted)) return wanted.includes(value as string);
    if (typeof wanted !== 'object') return value === wanted;
    const { min = -Infinity, max = Infinity } = wanted;
    return typeof value === 'number' && value >= min && value <= max;
  });
}

const textOf = (value: ChartValue) => (value === null ? null : String(value));

function titleOf(source: ChartTable, mark: MarkSpec, row: number): string {
  const names = [mark.by, mark.series, ...POSITIONS.map((name) => mark[name]), mark.text, mark.fill];
  const shown = [...new Set(names)].filter(
    (name): name is string => typeof name === 'string' && name in source.table.columns,
  );
  return shown
    .map((name) => {
      const column = source.columns.find((each) => each.name === name) ?? { name, label: name };
      return `${columnTitle(column)}: ${formatCell(source.table, column, row)}`;
    })
    .join('\n');
}

function layerOf(mark: MarkSpec, spec: ChartSpec, tables: Readonly<Record<string, ChartTable>>): Layer {
  const data = mark.data ?? spec.data;
  const source = tables[data];
  if (!source) throw new Error(`chart must be given the table that it names: ${data}`);
  const { table } = source;
  const positions = POSITIONS.filter((name) => mark[name] !== undefined);
  const facet = spec.facet && spec.facet.by in table.columns ? spec.facet.by : null;
  const onlyConstants = positions.every((name) => {
    const channel = mark[name];
    return typeof channel === 'number' || !(String(channel) in table.columns);
  });
  const optional = (name: string | undefined, row: number) =>
    name === undefined ? null : textOf(read(table, name, row));
  const rows: Datum[] = [];
  let missing = 0;
  for (let row = 0; row < (onlyConstants ? 1 : table.rowCount); row += 1) {
    if (!onlyConstants && !keeps(source.stored ?? table, mark, row)) continue;
    const at = Object.fromEntries(positions.map((name) => [name, read(table, mark[name]!, row)]));
    // A gap in a line is drawn as a gap; its place along the line must be known all the same.
    const needed = isContinuous(mark) ? positions.filter((name) => name === 'x') : positions;
    if (needed.some((name) => at[name] === null)) {
      missing += 1;
      continue;
    }
    const count = spec.beside && mark.mark === 'dot' && !onlyConstants ? read(table, spec.beside, row) : null;
    const fill = mark.fill === undefined ? null : read(table, mark.fill, row);
    rows.push({
      row: onlyConstants ? -1 : row,
      at,
      by: onlyConstants ? null : optional(mark.by, row),
      series: onlyConstants ? null : optional(mark.series, row),
      facet: facet === null || onlyConstants ? null : optional(facet, row),
      text: onlyConstants ? null : optional(mark.text, row),
      beside: typeof count === 'number' ? formatNumber(count, 0) : null,
      fill: typeof fill === 'number' ? fill : null,
      title: onlyConstants ? (mark.label ?? '') : titleOf(source, mark, row),
    });
  }
  return { mark, data, source, rows, missing, hasFacet: facet !== null && !onlyConstants };
}

/** Reads every layer of a chart out of its tables. Throws on a column that is not there: the page is wrong. */
export function chartLayers(spec: ChartSpec, tables: Readonly<Record<string, ChartTable>>): Layer[] {
  return spec.marks.map((mark) => layerOf(mark, spec, tables));
}

/** Distinct values in the order in which they first appear. */
export function distinct<T>(values: Iterable<T | null>): T[] {
  const seen = new Set<T>();
  for (const value of values) if (value !== null) seen.add(value);
  return [...seen];
}
