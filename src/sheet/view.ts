import type { RowSort } from './row-source.ts';

export interface SheetFilter {
  readonly column: string;
  readonly test: 'is' | 'is not' | 'contains' | 'at least' | 'at most' | 'missing' | 'present';
  /** As typed; null for `missing` and `present`. */
  readonly value: string | null;
}

export interface SheetView {
  readonly filters: readonly SheetFilter[];
  readonly sort: RowSort | null;
  /** The cohort only, or the whole herd. */
  readonly wholeHerd: boolean;
}
/** A column as filters and sorts see it. */
export interface ViewColumn {
  readonly name: string;
  /** Of its values in the engine. */
  readonly type: 'text' | 'number' | 'day' | 'boolean';
  /** Levels in their own order; null where the order of the alphabet serves. */
  readonly levels: readonly string[] | null;
  /** A filter’s text as the column stores it (days as ISO text). Throws a sentence where it cannot be read. */
  read(text: string): string | number | boolean;
}

const quote = (name: string): string => `"${name.replaceAll('"', '""')}"`;
const text = (value: string): string => `'${value.replaceAll("'", "''")}'`;

function typed(column: ViewColumn, written: string): string {
  const value = column.read(written);
  if (column.type === 'day') return `DATE ${text(String(value))}`;
  return typeof value === 'string' ? text(value) : String(value);
}

/** The SQL condition of one filter. */
export function filterSql({ test, value }: SheetFilter, column: ViewColumn): string {
  const name = quote(column.name);
  if (test === 'missing') return `${name} IS NULL`;
  if (test === 'present') return `${name} IS NOT NULL`;
  const written = (value ?? '').trim();
  if (written === '') throw new Error(`filter of ${column.name} must have a value`);
  if (test === 'contains') return `contains(lower(${name}::VARCHAR), lower(${text(written)}))`;
  if (column.type === 'text' && column.levels === null && (test === 'is' || test === 'is not')) {
    const same = `lower(${name}) ${test === 'is' ? '=' : '<>'} lower(${text(written)})`;
    return test === 'is' ? same : `(${name} IS NULL OR ${same})`;
  }
  const wanted = typed(column, written);
  switch (test) {
    case 'is':
      // What was typed in inches stands for the nearest tenth of a millimetre.
      return column.type === 'number' ? `abs(${name} - ${wanted}) < 0.05` : `${name} = ${wanted}`;
    case 'is not':
      return column.type === 'number'
        ? `(${name} IS NULL OR abs(${name} - ${wanted}) >= 0.05)`
        : `${name} IS DISTINCT FROM ${wanted}`;
    case 'at least':
      return `${ranked(column, name)} >= ${ranked(column, wanted)}`;
    case 'at most':
      return `${ranked(column, name)} <= ${ranked(column, wanted)}`;
  }
}

function ranked({ levels }: ViewColumn, sql: string): string {
  return levels === null
    ? sql
    : `CASE ${sql} ${levels.map((level, k) => `WHEN ${text(level)} THEN ${k}`).join(' ')} END`;
}

/** The ORDER BY of a view: missing values last either way, then by horse, day and foot. */
export function orderSql(sort: RowSort | null, column: ViewColumn | null, usual: string): string {
  if (!sort || !column) return usual;
  return `${ranked(column, quote(column.name))} ${sort.descending ? 'DESC' : 'ASC'} NULLS LAST, ${usual}`;
}
