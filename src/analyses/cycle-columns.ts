import { numbers, texts } from '../core/table.ts';
import { CYCLE_ROW } from '../herd/herd-names.ts';
import { remembered } from './analysis.ts';
import { footOrder, inOrder } from './foot-order.ts';
import { type Coded, code, placed, placedInto } from './groups.ts';
import {
  type Asking,
  type ColumnAsk,
  type CycleColumn,
  columnsOf,
  type PlacedRows,
  rowColumns,
} from './row-columns.ts';

export { NO_MARK } from './fill-column.ts';
export type { Asking, ColumnAsk, CycleColumn, PlacedRows } from './row-columns.ts';

/** Every trim cycle, by foot and by cycle within the foot. */
interface CycleRows extends PlacedRows {
  readonly foot: Coded;
  readonly horse: Coded;
}

/** The cycles themselves, asked for once. */
export function cycleRows(context: Asking): Promise<CycleRows> {
  const { engine, signal } = context;
  return remembered(context, 'cycle rows', async () => {
    const [feet, rows] = await Promise.all([
      engine.query(`SELECT foot_no, foot_key, horse_id FROM ${CYCLE_ROW} WHERE cycle_number = 1`, signal),
      rowColumns(context, {
        row_no: { sql: 'row_no', as: 'whole' },
        foot_no: { sql: 'foot_no', as: 'whole' },
        cycle_number: { sql: 'cycle_number', as: 'whole' },
      }),
    ]);
    const place = new Int32Array(largest(numbers(feet, 'foot_no')) + 1).fill(-1);
    numbers(feet, 'foot_no').forEach((foot, k) => {
      place[foot] = k;
    });
    const [keys, horses] = [code(texts(feet, 'foot_key')), code(texts(feet, 'horse_id'))];
    const at = placedInto(rows.foot_no, rows.foot_no, place);
    const foot = placed(at, keys.codes);
    const order = footOrder(foot, rows.cycle_number, keys.levels.length);
    const isOrdered = order.every((row, i) => row === i);
    const put = (codes: Int32Array): Int32Array => (isOrdered ? codes : inOrder(codes, order));
    return {
      given: rows.row_no,
      order: isOrdered ? null : order,
      foot: { levels: keys.levels, codes: put(foot) },
      horse: { levels: horses.levels, codes: put(placed(at, horses.codes)) },
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
    remembered(context, `column of ${context.of} ${JSON.stringify(ask)}`, () => batch.ask(ask)),
  );
  batch.send();
  return Promise.all(columns);
}

interface Batch {
  ask(ask: ColumnAsk): Promise<CycleColumn>;
  /** What is asked for after this is sent alone. */
  send(): void;
}

function makeBatch(context: Asking, rows: PlacedRows): Batch {
  const asked: ColumnAsk[] = [];
  let sent: Promise<readonly (CycleColumn | null)[]> | null = null;
  let start: () => void = () => undefined;
  const started = new Promise<void>((resolve) => {
    start = resolve;
  });
  // A level that is none of those known: the texts themselves are asked for.
  const told = async (ask: ColumnAsk, column: CycleColumn | null): Promise<CycleColumn> =>
    column ?? (await cycleColumns(context, rows, [{ kind: 'text', sql: ask.sql }]))[0]!;
  return {
    async ask(ask) {
      if (sent) return told(ask, (await columnsOf(context, rows, [ask]))[0]!);
      const k = asked.push(ask) - 1;
      await started;
      return told(ask, (await sent!)[k]!);
    },
    send() {
      sent =
        asked.length > 0 ? columnsOf(context, rows, asked) : Promise.reject(new Error('nothing was asked'));
      sent.catch(() => undefined);
      start();
    },
  };
}

/** Where the cohort's rows stand among those of the whole herd, in ascending order. */
export async function placesOfCohort(
  { engine, signal }: Pick<Asking, 'engine' | 'signal'>,
  cohortRows: 'cohort_cycle_no' | 'cohort_visit_no',
  { given, order }: PlacedRows,
): Promise<Uint32Array> {
  const cohort = numbers(await engine.query(`SELECT row_no FROM ${cohortRows}`, signal), 'row_no');
  const isIn = new Uint8Array(largest(given) + 1);
  for (let i = 0; i < cohort.length; i++) isIn[cohort[i]!] = 1;
  return placesIn(isIn, order ? inOrder(given, order) : given, cohort.length);
}

/** Places of the rows that are marked, of which there are `n`. */
function placesIn(isIn: Uint8Array, rows: Int32Array, n: number): Uint32Array {
  const places = new Uint32Array(n);
  let found = 0;
  for (let k = 0; k < rows.length; k++) if (isIn[rows[k]!] === 1) places[found++] = k;
  return places;
}

/** The largest of values that are not below 0; 0 of none. */
export function largest(values: Float64Array | Int32Array): number {
  let most = 0;
  for (let i = 0; i < values.length; i++) if (values[i]! > most) most = values[i]!;
  return most;
}
