import { numbers, type Table, texts } from '../core/table.ts';
import { literal } from '../engine/sql-text.ts';
import { CYCLE_ROW } from '../herd/herd-names.ts';
import { type AnalysisContext, remembered } from './analysis.ts';
import { footOrder, inOrder } from './foot-order.ts';
import { type Coded, code, codeColumn } from './groups.ts';

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

/** A mark that is missing. */
export const NO_MARK = -128;

/** Values of length n, by foot and by cycle within the foot. */
export type CycleColumn = Float64Array | Int8Array | Coded;

/** Numbers of rows as the engine gives them, and where each of them goes; null where they come in order. */
export interface PlacedRows {
  readonly given: Float64Array;
  readonly order: Uint32Array | null;
}

/** Every trim cycle, by foot and by cycle within the foot. */
interface CycleRows extends PlacedRows {
  readonly foot: Coded;
  readonly horse: Coded;
}

/** The cycles themselves, asked for once. */
export function cycleRows(context: Asking): Promise<CycleRows> {
  const { engine, signal, of } = context;
  return remembered(context, 'cycle rows', async () => {
    const [feet, rows] = await Promise.all([
      engine.query(`SELECT foot_no, foot_key, horse_id FROM ${CYCLE_ROW} WHERE cycle_number = 1`, signal),
      engine.query(`SELECT row_no, foot_no, cycle_number FROM ${of}`, signal),
    ]);
    const place = new Int32Array(largest(numbers(feet, 'foot_no')) + 1).fill(-1);
    numbers(feet, 'foot_no').forEach((foot, k) => {
      place[foot] = k;
    });
    const [keys, horses] = [code(texts(feet, 'foot_key')), code(texts(feet, 'horse_id'))];
    const at = Int32Array.from(numbers(rows, 'foot_no'), (foot) => place[foot]!);
    const foot = at.map((k) => keys.codes[k]!);
    const order = footOrder(foot, numbers(rows, 'cycle_number'), keys.levels.length);
    const isOrdered = order.every((row, i) => row === i);
    const put = (codes: Int32Array): Int32Array => (isOrdered ? codes : inOrder(codes, order));
    return {
      given: numbers(rows, 'row_no'),
      order: isOrdered ? null : order,
      foot: { levels: keys.levels, codes: put(foot) },
      horse: { levels: horses.levels, codes: put(at.map((k) => horses.codes[k]!)) },
    };
  });
}

/** Columns of them, each asked for once, those that are not there yet by one statement. */
export function cycleColumns(
  context: Asking,
  rows: PlacedRows,
  asks: readonly ColumnAsk[],
): Promise<CycleColumn[]> {
  const batch = makeBatch(context, rows);
  const columns = asks.map((ask) =>
    remembered(context, `column of ${context.of} ${JSON.stringify(ask)}`, async () =>
      kept(ask, await batch.ask(ask), context, rows),
    ),
  );
  batch.send();
  return Promise.all(columns);
}

interface Batch {
  ask(ask: ColumnAsk): Promise<Answer>;
  /** What is asked for after this is sent alone. */
  send(): void;
}
type Answer = { readonly table: Table; readonly name: string; readonly order: Uint32Array | null };

function makeBatch({ engine, signal, of }: Asking, rows: PlacedRows): Batch {
  const asked: string[] = [];
  let sent: Promise<Answer['table']> | null = null;
  let start: () => void = () => undefined;
  const started = new Promise<void>((resolve) => {
    start = resolve;
  });
  const query = (list: readonly string[]): Promise<Table> =>
    engine.query(`SELECT row_no, ${list.map((sql, k) => `${sql} AS c${k}`).join(', ')} FROM ${of}`, signal);
  const answer = (table: Table, name: string): Answer => ({
    table,
    name,
    order: orderOf(rows, numbers(table, 'row_no')),
  });
  return {
    async ask(ask) {
      const sql = askedSql(ask);
      if (sent) return answer(await query([sql]), 'c0');
      const name = `c${asked.push(sql) - 1}`;
      await started;
      return answer(await sent!, name);
    },
    send() {
      sent = asked.length > 0 ? query(asked) : Promise.reject(new Error('nothing was asked'));
      sent.catch(() => undefined);
      start();
    },
  };
}

/** Where the cohort's rows stand among those of the whole herd, in ascending order. */
export async function placesOfCohort(
  { engine, signal }: Pick<Asking, 'engine' | 'signal'>,
  cohortRows: 'cohort_cycle' | 'cohort_visit',
  { given, order }: PlacedRows,
): Promise<Uint32Array> {
  const cohort = numbers(await engine.query(`SELECT row_no FROM ${cohortRows}`, signal), 'row_no');
  const isIn = new Uint8Array(largest(given) + 1);
  for (let i = 0; i < cohort.length; i++) isIn[cohort[i]!] = 1;
  return placesIn(isIn, order ? inOrder(given, order) : given, cohort.length);
}

/** Places of the rows that are marked, of which there are `n`. */
function placesIn(isIn: Uint8Array, rows: Float64Array, n: number): Uint32Array {
  const places = new Uint32Array(n);
  let found = 0;
  for (let k = 0; k < rows.length; k++) if (isIn[rows[k]!] === 1) places[found++] = k;
  return places;
}

/** A level that is none of those known. */
const STRANGE = 127;

function askedSql(ask: ColumnAsk): string {
  if (ask.kind === 'number') return `(${ask.sql})::DOUBLE`;
  if (ask.kind === 'mark') return `(${ask.sql})::TINYINT`;
  if (!ask.levels) return `(${ask.sql})::VARCHAR`;
  const places = ask.levels.map((level, k) => `WHEN ${literal(level)} THEN ${k}`);
  return `(CASE ${ask.sql} ${places.join(' ')} ELSE CASE WHEN ${ask.sql} IS NOT NULL THEN ${STRANGE} END END)::TINYINT`;
}

async function kept(
  ask: ColumnAsk,
  { table, name, order }: Answer,
  context: Asking,
  rows: PlacedRows,
): Promise<CycleColumn> {
  const put = <V extends Float64Array | Int32Array>(values: V): V =>
    order ? inOrder(values, order) : values;
  if (ask.kind === 'number') return put(numbers(table, name));
  if (ask.kind === 'mark') return marks(put(numbers(table, name)), NO_MARK);
  if (!ask.levels) {
    const { levels, codes } = codeColumn(table, name);
    return { levels, codes: put(codes) };
  }
  const places = numbers(table, name);
  if (places.includes(STRANGE)) {
    const [plain] = await cycleColumns(context, rows, [{ kind: 'text', sql: ask.sql }]);
    return plain!;
  }
  const sorted = [...ask.levels].sort();
  const place = Int32Array.from(ask.levels, (level) => sorted.indexOf(level));
  return { levels: sorted, codes: codesAt(put(places), place) };
}

function codesAt(places: Float64Array, place: Int32Array): Int32Array {
  const codes = new Int32Array(places.length);
  for (let i = 0; i < codes.length; i++) {
    const k = places[i]!;
    codes[i] = Number.isNaN(k) ? -1 : place[k]!;
  }
  return codes;
}

function marks(values: Float64Array, missing: number): Int8Array {
  const found = new Int8Array(values.length);
  for (let i = 0; i < found.length; i++) found[i] = Number.isNaN(values[i]!) ? missing : values[i]!;
  return found;
}

/**
 * Where the rows of an answer go. A statement gives its rows in the order in which they are kept, as the one before did;
 * nothing but an ORDER BY promises it, so that their numbers are compared.
 */
function orderOf({ given, order }: PlacedRows, here: Float64Array): Uint32Array | null {
  if (isSame(here, given)) return order;
  if (here.length !== given.length)
    throw new Error(`rows must be ${given.length}, the same as before: ${here.length}`);
  const place = new Map(Array.from(here, (row, i) => [row, i]));
  const wanted = order ? inOrder(given, order) : given;
  return Uint32Array.from(wanted, (row) => place.get(row)!);
}

function isSame(a: Float64Array, b: Float64Array): boolean {
  if (a.length !== b.length) return false;
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return true;
}

/** The largest of values that are not below 0; 0 of none. */
export function largest(values: Float64Array): number {
  let most = 0;
  for (let i = 0; i < values.length; i++) if (values[i]! > most) most = values[i]!;
  return most;
}
