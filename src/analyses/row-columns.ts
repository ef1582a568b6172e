import { letGo } from '../core/let-go.ts';
import { numbers, type Table } from '../core/table.ts';
import { literal } from '../engine/sql-text.ts';
import type { AnalysisContext } from './analysis.ts';
import { type FillAs, fillColumn, type Where } from './fill-column.ts';
import type { Coded } from './groups.ts';

/** Whose rows: a cohort's, or those of the whole herd; trim cycles, or visits of a foot. */
export type Asking = Pick<AnalysisContext, 'engine' | 'signal' | 'remember'> & {
  readonly of: 'cohort_cycle' | 'trim_cycle_all' | 'cohort_visit' | 'foot_visit_all';
};

/** A column of every row, which follows from its row alone: SQL, and what its values are. */
export type ColumnAsk =
  | { readonly kind: 'number'; readonly sql: string }
  /** Yes or no, or another whole number from −127 to 127. */
  | { readonly kind: 'mark'; readonly sql: string }
  /** `levels`, where it is known which there can be: a number for each takes a fraction of the time of its text. */
  | { readonly kind: 'text'; readonly sql: string; readonly levels?: readonly string[] };

/** Values of length n, by foot and by cycle within the foot. */
export type CycleColumn = Float64Array | Int8Array | Coded;

/** Numbers of rows as the engine gives them, and where each of them goes; null where they come in order. */
export interface PlacedRows {
  readonly given: Int32Array;
  readonly order: Uint32Array | null;
}

/** SQL of a column, and what its values are. */
type RowAsk = { readonly sql: string; readonly as: 'whole' | 'text' };
type RowColumns<Asks> = {
  readonly [Name in keyof Asks]: Asks[Name] extends { readonly as: 'text' } ? Coded : Int32Array;
};

/** Columns of rows of which nothing is known yet, as the engine gives them. */
export async function rowColumns<const Asks extends Readonly<Record<string, RowAsk>>>(
  context: Asking,
  asks: Asks,
): Promise<RowColumns<Asks>> {
  const { engine, signal, of } = context;
  const named = Object.entries(asks);
  const count = engine.inPieces
    ? numbers(await engine.query(`SELECT count(*) AS n FROM ${of}`, signal), 'n')
    : null;
  let fillings: readonly ReturnType<typeof fillColumn>[] | null = null;
  let from = 0;
  const columns = named.map(([name, { sql }]) => `${sql} AS ${name}`).join(', ');
  await inPieces(context, `SELECT ${columns} FROM ${of}`, (piece) => {
    fillings ??= named.map(([, { as }]) => fillColumn({ kind: as }, count?.[0] ?? piece.rowCount));
    fillings.forEach((filling, k) => {
      filling.take(piece.columns[named[k]![0]]!, { from, place: null });
    });
    from += piece.rowCount;
  });
  return Object.fromEntries(named.map(([name], k) => [name, fillings![k]!.done()])) as RowColumns<Asks>;
}

/** Columns of rows that are known; null where a level was none of those listed. */
export async function columnsOf(
  context: Asking,
  rows: PlacedRows,
  asks: readonly ColumnAsk[],
): Promise<(CycleColumn | null)[]> {
  const rowCount = rows.given.length;
  const fillings = asks.map((ask) => fillColumn(fillAs(ask), rowCount));
  const placeAt = placing(rows);
  let from = 0;
  const columns = asks.map((ask, k) => `${askedSql(ask)} AS c${k}`).join(', ');
  await inPieces(context, `SELECT row_no, ${columns} FROM ${context.of}`, (piece) => {
    const where = placeAt(numbers(piece, 'row_no'), from);
    fillings.forEach((filling, k) => {
      filling.take(piece.columns[`c${k}`]!, where);
    });
    from += piece.rowCount;
  });
  if (from !== rowCount) throw new Error(`rows must be ${rowCount}, the same as before: ${from}`);
  return fillings.map((filling) => filling.done() as CycleColumn | null);
}

async function inPieces(
  { engine, signal }: Asking,
  sql: string,
  take: (piece: Table) => void,
): Promise<void> {
  if (!engine.inPieces) return take(await engine.query(sql, signal));
  letGo();
  await engine.inPieces(sql, take, signal);
}

/**
 * Where the rows of an answer go. A statement gives its rows in the order in which they are kept, as the one before did;
 * nothing but an ORDER BY promises it, so that their numbers are compared.
 */
function placing({ given, order }: PlacedRows): (rows: Float64Array, from: number) => Where {
  let place: Int32Array | null = null;
  if (order) {
    place = new Int32Array(order.length);
    for (let i = 0; i < order.length; i++) place[order[i]!] = i;
  }
  let placeOfRow: Map<number, number> | null = null;
  return (rows, from) => {
    let i = 0;
    while (i < rows.length && rows[i] === given[from + i]) i++;
    if (i === rows.length) return { from, place };
    placeOfRow ??= new Map(Array.from(given, (row, at) => [row, place ? place[at]! : at]));
    const found = Int32Array.from(rows, (row) => placeOfRow!.get(row) ?? -1);
    const strange = found.indexOf(-1);
    if (strange >= 0) throw new Error(`rows must be the same as before: ${rows[strange]}`);
    return { from: 0, place: found };
  };
}

/** A level that is none of those known. */
const STRANGE = 127;

function fillAs(ask: ColumnAsk): FillAs {
  if (ask.kind === 'text' && ask.levels) return { kind: 'level', levels: ask.levels };
  return { kind: ask.kind };
}

function askedSql(ask: ColumnAsk): string {
  if (ask.kind === 'number') return `(${ask.sql})::DOUBLE`;
  if (ask.kind === 'mark') return `(${ask.sql})::TINYINT`;
  if (!ask.levels) return `(${ask.sql})::VARCHAR`;
  const places = ask.levels.map((level, k) => `WHEN ${literal(level)} THEN ${k}`);
  return `(CASE ${ask.sql} ${places.join(' ')} ELSE CASE WHEN ${ask.sql} IS NOT NULL THEN ${STRANGE} END END)::TINYINT`;
}
