import {
  type Column,
  codedBooleanColumn,
  codedNumberColumn,
  type Table,
  textColumnByCode,
  wholeColumn,
} from '../core/table.ts';
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
      row_no: wholeColumn(numbered(rowCount, firstNumber)),
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
  if (column.type !== 'number' || column.whole) return column;
  return column.byCode
    ? codedNumberColumn('number', column.byCode, true)
    : { type: 'number', values: column.values, whole: true };
}

const NO_TEXT = [null];
const NO_NUMBER = Float64Array.of(Number.NaN);

function missing(type: Column['type'], rowCount: number): Column {
  const codes = new Uint8Array(rowCount);
  if (type === 'text')
    return textColumnByCode({ codes, levels: NO_TEXT }, [], () => new Int32Array(rowCount).fill(-1));
  if (type === 'boolean') return codedBooleanColumn({ codes, levels: NO_TEXT });
  return codedNumberColumn(type, { codes, levels: NO_NUMBER });
}

function numbered(rowCount: number, first: number): Int32Array {
  const values = new Int32Array(rowCount);
  for (let row = 0; row < rowCount; row++) values[row] = first + row;
  return values;
}
