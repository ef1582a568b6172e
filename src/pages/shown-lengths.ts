import { createContext } from 'preact';
import type { ResultColumn } from '../analyses/analysis.ts';
import { digitsIn, isMm, type ShownLength, shownUnit, shownValue } from '../analyses/lengths.ts';
import { type Column, type Table, texts } from '../core/table.ts';
import type { ChartSpec } from '../plots/chart-spec.ts';
import type { TableView } from './entry-state.ts';

/** The unit in which a page gives lengths. Results stay in mm: they are converted as they are shown. */
export const ShownLengthContext = createContext<ShownLength>('mm');

/** A column as it is shown: where its rows are in several units, digits go by row. */
interface ShownColumn extends ResultColumn {
  readonly digitsAt?: (row: number) => number | undefined;
}

/** These have the unit of `estimate`, which the headings do not say again. */
const OF_ESTIMATE: ReadonlySet<string> = new Set(['std_error', 'conf_low', 'conf_high']);

/** The unit of each row, where a table has rows in several units. */
function rowUnits(table: Table): readonly (string | null)[] | null {
  return table.columns.unit?.type === 'text' ? texts(table, 'unit') : null;
}

/** The unit of a column's values, in all rows or in one. */
function unitAt(
  { name, unit }: ResultColumn,
  columns: readonly ResultColumn[],
  units: readonly (string | null)[] | null,
): string | undefined | ((row: number) => string | null) {
  if (unit) return unit;
  if (name !== 'estimate' && !OF_ESTIMATE.has(name)) return undefined;
  const own = columns.find((column) => column.name === 'estimate')?.unit;
  return own ?? (units ? (row) => units[row] ?? null : undefined);
}

function inInches(column: Column, unitOf: (row: number) => string | null | undefined): Column {
  if (column.type !== 'number') return column;
  return {
    type: 'number',
    values: column.values.map((value, row) => shownValue('in', value, unitOf(row) ?? undefined)),
  };
}

const digits = (given: number | undefined): { digits?: number } =>
  given === undefined ? {} : { digits: digitsIn('in', given) };

/** A table and the columns shown of it, lengths as they are read. `columns` may be some of those that `all` describes. */
export function tableInLengths(
  table: Table,
  columns: readonly ResultColumn[],
  shown: ShownLength,
  all: readonly ResultColumn[] = columns,
): { readonly table: Table; readonly columns: readonly ShownColumn[] } {
  if (shown === 'mm') return { table, columns };
  const units = rowUnits(table);
  const known = [...columns, ...all];
  const changed: Record<string, Column> = {};
  const told = columns.map((column): ShownColumn => {
    const values = table.columns[column.name];
    if (!values) return column;
    if (column.name === 'unit' && units) {
      changed.unit = { type: 'text', values: units.map((unit) => unit && shownUnit(shown, unit)) };
      return column;
    }
    const unit = unitAt(column, known, units);
    if (typeof unit === 'function') {
      changed[column.name] = inInches(values, unit);
      const given = column.digits;
      if (given === undefined) return column;
      return { ...column, digitsAt: (row) => (isMm(unit(row) ?? undefined) ? digitsIn('in', given) : given) };
    }
    if (!isMm(unit)) return column;
    changed[column.name] = inInches(values, () => unit);
    return {
      ...column,
      ...digits(column.digits),
      ...(column.unit ? { unit: shownUnit(shown, column.unit) } : {}),
    };
  });
  return { table: { ...table, columns: { ...table.columns, ...changed } }, columns: told };
}

const POSITIONS = { x: ['x', 'x1', 'x2'], y: ['y', 'y1', 'y2'] } as const;

/** A chart and its tables with lengths as they are read: values, axis ends, lines at a number, titles. */
export function chartInLengths(
  spec: ChartSpec,
  views: Readonly<Record<string, TableView>>,
  shown: ShownLength,
): { readonly spec: ChartSpec; readonly views: Readonly<Record<string, TableView>> } {
  if (shown === 'mm') return { spec, views };
  const sides = (['x', 'y'] as const).filter((side) => isMm(axisUnit(spec, views, side)));
  const onLengths = new Map(
    spec.marks.flatMap((mark) =>
      sides.flatMap((side) =>
        POSITIONS[side].map((name) => [mark[name], axisUnit(spec, views, side)!] as const),
      ),
    ),
  );
  const converted = Object.entries(views).map(([name, view]) => {
    const units = rowUnits(view.table);
    // A column that says nothing of its unit has that of the axis on which it is drawn.
    const columns = view.columns.map((column) =>
      onLengths.has(column.name) && unitAt(column, view.columns, units) === undefined
        ? { ...column, unit: onLengths.get(column.name)! }
        : column,
    );
    const { table, columns: told } = tableInLengths(view.table, columns, shown);
    return [name, { ...view, table, columns: told, stored: view.table }] as const;
  });
  const number = (value: string | number | undefined) =>
    typeof value === 'number' ? shownValue(shown, value, 'mm') : value;
  const marks = spec.marks.map((mark) => {
    const moved = sides.flatMap((side) =>
      POSITIONS[side].flatMap((name) => (mark[name] === undefined ? [] : [[name, number(mark[name])]])),
    );
    return { ...mark, ...Object.fromEntries(moved) };
  });
  const axes = sides.map((side) => {
    const { unit, min, max } = spec[side];
    const ends = { ...(min === undefined ? {} : { min }), ...(max === undefined ? {} : { max }) };
    const moved = Object.entries(ends).map(([name, value]) => [name, number(value)]);
    return [
      side,
      { ...spec[side], ...Object.fromEntries(moved), ...(unit ? { unit: shownUnit(shown, unit) } : {}) },
    ];
  });
  return {
    spec: { ...spec, marks, ...Object.fromEntries(axes) },
    views: Object.fromEntries(converted),
  };
}

/** What the page says, or else the unit of the first column drawn along this side. */
function axisUnit(
  spec: ChartSpec,
  views: Readonly<Record<string, TableView>>,
  side: 'x' | 'y',
): string | undefined {
  if (spec[side].unit !== undefined) return spec[side].unit;
  for (const mark of spec.marks) {
    const columns = views[mark.data ?? spec.data]?.columns ?? [];
    for (const name of POSITIONS[side]) {
      const column = columns.find((each) => each.name === mark[name]);
      const unit = column && unitAt(column, columns, null);
      if (column) return typeof unit === 'string' ? unit : undefined;
    }
  }
  return undefined;
}

/** A table to be taken away: in mm as stored, the unit of each length in its column's name (`estimate_mm_per_30_days`). */
export function namedByUnit({ table, columns }: Pick<TableView, 'table' | 'columns'>): {
  readonly table: Table;
  /** Whether there is a length in it at all. */
  readonly hasLengths: boolean;
} {
  const units = rowUnits(table);
  let hasLengths = units?.some((unit) => isMm(unit ?? undefined)) ?? false;
  const entries = Object.entries(table.columns).map(([name, values]) => {
    const column = columns.find((each) => each.name === name) ?? { name, label: name };
    const unit = unitAt(column, columns, units);
    if (typeof unit !== 'string' || !isMm(unit) || values.type !== 'number') return [name, values] as const;
    hasLengths = true;
    const suffix = unit.replaceAll(/\W+/g, '_');
    return [name.endsWith(`_${suffix}`) ? name : `${name}_${suffix}`, values] as const;
  });
  return { table: { ...table, columns: Object.fromEntries(entries) }, hasLengths };
}
