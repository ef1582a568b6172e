import { type Column, codedTextColumn, type Table } from './table.ts';

/** A table that is made a piece at a time, so that a large one never stands in memory beside its copy. */
export interface TablePieces {
  readonly rowCount: number;
  /** Rows from `from` up to, not with, `to`; every piece has the same columns in the same order. */
  piece(from: number, to: number): Table;
}

/** A table that stands whole, in pieces. */
export function piecesOf(table: Table): TablePieces {
  return {
    rowCount: table.rowCount,
    piece: (from, to) =>
      from === 0 && to === table.rowCount
        ? table
        : {
            rowCount: to - from,
            columns: Object.fromEntries(
              Object.entries(table.columns).map(([name, column]) => [name, slice(column, from, to)]),
            ),
          },
  };
}

function slice(column: Column, from: number, to: number): Column {
  if (column.type === 'number') {
    const { type, values, whole } = column;
    return { type, values: values.subarray(from, to), ...(whole && { whole }) };
  }
  if (column.type === 'day') return { type: 'day', values: column.values.subarray(from, to) };
  if (column.type === 'text' && column.coded) {
    return codedTextColumn(column.coded.codes.subarray(from, to), column.coded.levels);
  }
  return { type: column.type, values: column.values.slice(from, to) } as Column;
}

/** The rows of a table in another order: row `i` of the result is row `order[i]`. */
export function reorder(table: Table, order: Int32Array): Table {
  const columns = Object.entries(table.columns).map(([name, column]): [string, Column] => {
    if (column.type === 'number' || column.type === 'day') {
      const { type, values } = column;
      const isWhole = type === 'number' && column.whole === true;
      const inOrder = Float64Array.from(order, (row) => values[row] as number);
      return [name, { type, values: inOrder, ...(isWhole && { whole: true }) } as Column];
    }
    const { values } = column;
    return [name, { type: column.type, values: Array.from(order, (row) => values[row] ?? null) } as Column];
  });
  return { rowCount: order.length, columns: Object.fromEntries(columns) };
}
