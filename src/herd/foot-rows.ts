import { type Column, codedTextColumn, type Table } from '../core/table.ts';
import type { TablePieces } from '../core/table-pieces.ts';
import type { ColumnDescription } from './column.ts';
import { FOOT_VISIT, storedAs } from './dictionary.ts';
import { OWN_FACTS, withHorseFacts } from './horse-facts.ts';

const ROWS_A_PIECE = 245_760;

/**
 * Foot rows as the herd keeps them, piece by piece: every column of the dictionary in its order, the facts of the horse
 * filled in, where each row came from, its number, which facts it states itself, and the name it keeps where that is
 * not its horse, day and foot (none does at first). `visits` come by horse, day and foot.
 */
export function* footRows(visits: TablePieces, horses: Table, firstNumber = 1): Generator<Table> {
  const filled = withHorseFacts(horses);
  for (let from = 0; from === 0 || from < visits.rowCount; from += ROWS_A_PIECE) {
    const to = Math.min(visits.rowCount, from + ROWS_A_PIECE);
    yield kept(filled(visits.piece(from, to)), firstNumber + from);
  }
}

function kept({ rowCount, columns }: Table, firstNumber: number): Table {
  const described = FOOT_VISIT.map((column) => [column.name, stored(column, columns[column.name], rowCount)]);
  return {
    rowCount,
    columns: {
      ...(Object.fromEntries(described) as Record<string, Column>),
      source_file: columns.source_file ?? missing('text', rowCount),
      source_line: whole(columns.source_line ?? missing('number', rowCount)),
      row_no: { type: 'number', values: numbered(rowCount, firstNumber), whole: true },
      [OWN_FACTS]: columns[OWN_FACTS] as Column,
      kept_key: missing('text', rowCount),
    },
  };
}

function stored(column: ColumnDescription, given: Column | undefined, rowCount: number): Column {
  const as = given ?? missing(storedAs(column), rowCount);
  return column.kind === 'grade' || column.kind === 'year' ? whole(as) : as;
}

function whole(column: Column): Column {
  return column.type === 'number' ? { type: 'number', values: column.values, whole: true } : column;
}

function missing(type: Column['type'], rowCount: number): Column {
  if (type === 'text') return codedTextColumn(new Int32Array(rowCount).fill(-1), []);
  if (type === 'boolean') return { type, values: new Array<null>(rowCount).fill(null) };
  return { type, values: new Float64Array(rowCount).fill(Number.NaN) };
}

function numbered(rowCount: number, first: number): Float64Array {
  const values = new Float64Array(rowCount);
  for (let row = 0; row < rowCount; row++) values[row] = first + row;
  return values;
}
