import { sortedRows } from '../core/sort-rows.ts';
import type { Column, Table } from '../core/table.ts';
import type { GridColumn, RowSource } from './row-source.ts';

function pick(column: Column, rows: readonly number[]): Column {
  switch (column.type) {
    case 'number':
    case 'day':
      return { type: column.type, values: Float64Array.from(rows, (row) => column.values[row]!) };
    case 'boolean':
      return { type: 'boolean', values: rows.map((row) => column.values[row] ?? null) };
    case 'text':
      return { type: 'text', values: rows.map((row) => column.values[row] ?? null) };
  }
}

/** Rows of a table in a given order. */
export function pickRows(table: Table, rows: readonly number[]): Table {
  const columns = Object.entries(table.columns).map(([name, column]) => [name, pick(column, rows)] as const);
  return { rowCount: rows.length, columns: Object.fromEntries(columns) };
}

/** A table that is already here, as a source of rows. */
export function tableSource(table: Table, columns: readonly GridColumn[]): RowSource {
  return {
    rowCount: table.rowCount,
    columns,
    async fetch(offset, limit, sort) {
      const order = sortedRows(
        table,
        sort ? { by: sort.column, order: sort.descending ? 'descending' : 'ascending' } : undefined,
      );
      return pickRows(table, order.slice(offset, offset + limit));
    },
  };
}
