import Papa from 'papaparse';
import { isoFromDay } from '../core/civil-day.ts';
import { type Column, cellAt, type Table } from '../core/table.ts';

const ROWS_A_PIECE = 10_000;
/** papaparse's own pattern lets text through that goes on over a line break. */
const FORMULA = /^[=+\-@\t\r]/;

export interface CsvOptions {
  /** Columns in order; all of them if left out. */
  readonly columns?: readonly string[];
  /** Digits after the point by column, for numbers that are not to be written in full. */
  readonly digits?: Readonly<Record<string, number>>;
}

/**
 * A table as CSV (RFC 4180: comma, CRLF, quotes doubled): days as ISO 8601, numbers with a point, missing as empty.
 * Text that a spreadsheet would run as a formula (leading = + - @ tab, CR) is written after an apostrophe.
 */
export function tableToCsv(table: Table, options: CsvOptions = {}): string {
  return [...csvPieces(table, options)].join('');
}

/** The same in pieces, for tables too long for one string. Throws on an unknown column: that is bad code. */
export function* csvPieces(table: Table, options: CsvOptions = {}): Generator<string> {
  const names = options.columns ?? Object.keys(table.columns);
  const columns = names.map((name): { name: string; column: Column } => {
    const column = table.columns[name];
    if (!column) throw new Error(`table has no column ${name}: ${Object.keys(table.columns).join(', ')}`);
    return { name, column };
  });
  // The names come from files too.
  yield lines([[...names]]);
  for (let from = 0; from < table.rowCount; from += ROWS_A_PIECE) {
    const count = Math.min(ROWS_A_PIECE, table.rowCount - from);
    yield lines(
      Array.from({ length: count }, (_, i) =>
        columns.map(({ name, column }) =>
          written(cellAt(table, name, from + i), column.type, options.digits?.[name]),
        ),
      ),
    );
  }
}

/** How many texts of a table, its column names among them, `tableToCsv` writes after an apostrophe. */
export function countDefused(table: Table): number {
  const runs = (text: string | null) => text !== null && FORMULA.test(text);
  return Object.entries(table.columns).reduce((sum, [name, column]) => {
    const cells = column.type === 'text' ? column.values.filter(runs).length : 0;
    return sum + cells + (runs(name) ? 1 : 0);
  }, 0);
}

function written(cell: ReturnType<typeof cellAt>, type: Column['type'], digits: number | undefined): unknown {
  if (cell === null || typeof cell !== 'number') return cell;
  if (type === 'day') return isoFromDay(cell);
  return digits === undefined ? cell : Number(cell.toFixed(digits));
}

function lines(rows: readonly (readonly unknown[])[]): string {
  // papaparse defuses strings only: a negative number stays a number.
  return `${Papa.unparse(rows as unknown[][], { newline: '\r\n', escapeFormulae: FORMULA })}\r\n`;
}
