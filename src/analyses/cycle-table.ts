import { makeRoom } from '../core/let-go.ts';
import { type Column, codedTextColumn, type Table } from '../core/table.ts';
import { quoteName } from '../engine/sql-text.ts';
import { BREED_TYPES, FOOT_LABELS, MOISTURES, PROTECTIONS, TERRAINS } from '../herd/vocabularies.ts';
import { type AskContext, columnsKept, remembered } from './analysis.ts';
import {
  type Asking,
  type ColumnAsk,
  type CycleColumn,
  cycleColumns,
  cycleRows,
  type PlacedRows,
  placesOfCohort,
} from './cycle-columns.ts';
import { NO_MARK } from './fill-column.ts';
import { inOrder, numbered } from './foot-order.ts';
import { type Coded, type Grouping, groupSql, seenLevels } from './groups.ts';

/** SQL that holds of a cycle, or what holds of a column: that it is recorded, or that it says no. */
export type Condition = string | { readonly known: ColumnAsk } | { readonly no: ColumnAsk };

/** Columns by name, and which cycles: those for which every condition holds. */
export interface CycleAsk {
  readonly columns: Readonly<Record<string, ColumnAsk>>;
  readonly where: readonly Condition[];
  /** What more must hold of a row, told from all of them. */
  readonly also?: (cycles: Omit<ChosenCycles, 'keep' | 'told'>) => (row: number) => boolean;
}

const LEVELS: Readonly<Record<Grouping, readonly string[]>> = {
  breed_type: BREED_TYPES,
  terrain: TERRAINS,
  moisture: MOISTURES,
  season: ['winter', 'spring', 'summer', 'autumn'],
  protection: PROTECTIONS,
  foot_end: ['fore', 'hind'],
  foot: Object.values(FOOT_LABELS),
};

export const isRecorded = (known: ColumnAsk): Condition => ({ known });
export const isNo = (no: ColumnAsk): Condition => ({ no });

/** A grouping as a column. */
export function groupAsk(grouping: Grouping): ColumnAsk {
  const levels = LEVELS[grouping];
  return { kind: 'text', sql: groupSql(grouping), ...(levels && { levels }) };
}

/** Groupings as columns `by …`. */
export const groupColumns = (groupings: readonly Grouping[]): CycleAsk['columns'] =>
  Object.fromEntries(groupings.map((grouping) => [`by ${grouping}`, groupAsk(grouping)]));

/** Whether a condition holds: 1 or 0. */
export const holdsAsk = (condition: string): ColumnAsk => ({
  kind: 'mark',
  sql: `coalesce((${condition}), FALSE)`,
});

/** The day on which a cycle ended, as days since 1970. */
export const endedAsk: ColumnAsk = { kind: 'number', sql: "next_date - DATE '1970-01-01'" };
export const numberAsk = (sql: string): ColumnAsk => ({ kind: 'number', sql: written(sql) });
export const markAsk = (sql: string): ColumnAsk => ({ kind: 'mark', sql: written(sql) });

/** One column is kept once, whether its name came with quotes or without. */
const written = (sql: string): string => (/^[a-z][a-z0-9_]*$/.test(sql) ? quoteName(sql) : sql);

/** Columns of every trim cycle of the cohort, and the places of those chosen. */
interface ChosenCycles extends PlacedRows {
  readonly keep: Uint32Array;
  /** What tells those chosen of one cohort from others; null where only `also` does. */
  readonly told: string | null;
  readonly horse: Coded;
  readonly foot: Coded;
  readonly columns: ReadonlyMap<string, CycleColumn>;
}

/**
 * Columns are taken out of the engine once, of the whole herd where they can be kept from one cohort to the next, and the
 * rows chosen here: to choose them there takes longer than all else about them.
 */
export async function chosenCycles(
  context: AskContext,
  { columns, where, also }: CycleAsk,
): Promise<ChosenCycles> {
  const { engine, signal, rememberHerd } = context;
  const remember = columnsKept(context);
  const asking: Asking = rememberHerd
    ? { engine, signal, remember: rememberHerd, of: 'trim_cycle_all' }
    : { engine, signal, remember, of: 'cohort_cycle' };
  const names = Object.keys(columns);
  const rows = await cycleRows(asking);
  const [found, cohort] = await Promise.all([
    cycleColumns(asking, rows, [...Object.values(columns), ...where.map(conditionAsk)]),
    rememberHerd &&
      remembered({ remember }, 'cycles of the cohort', () =>
        placesOfCohort(context, 'cohort_cycle_no', rows),
      ),
  ]);
  const all = { ...rows, columns: new Map(names.map((name, k) => [name, found[k]!])) };
  const { places, told } = await remembered({ remember }, `cycles where ${JSON.stringify(where)}`, async () =>
    where.reduce((left, condition, k) => narrowed(left, condition, found[names.length + k]!), {
      places: cohort ?? numbered(rows.given.length),
      told: [] as readonly string[],
    }),
  );
  if (also) return { ...all, keep: places.filter(also(all)), told: null };
  return { ...all, keep: places, told: told.toSorted().join(' ') };
}

/** Trim cycles of the cohort with `horse_id`, `foot_key` and the columns asked for, by foot and day. */
export async function cycleTable(context: AskContext, ask: CycleAsk): Promise<Table> {
  const { keep, told, horse, foot, columns } = await chosenCycles(context, ask);
  // Several fits of a page ask for the same columns of the same cycles.
  const once = told === null ? {} : { remember: columnsKept(context) };
  const kept = (name: string, column: CycleColumn): Promise<Float64Array | Coded> => {
    if (column instanceof Float64Array && keep.length === column.length) return Promise.resolve(column);
    return remembered(once, `${name} of cycles ${told}`, async () => chosen(column, keep));
  };
  const names = ['horse_id', 'foot_key', ...columns.keys()];
  const values = await Promise.all([
    kept('horses', horse),
    kept('feet', foot),
    ...Array.from(columns, ([name, column]) => kept(JSON.stringify(ask.columns[name]), column)),
  ]);
  const asColumn = (values: Float64Array | Coded): Column =>
    values instanceof Float64Array
      ? { type: 'number', values }
      : codedTextColumn(values.codes, values.levels);
  return {
    rowCount: keep.length,
    columns: Object.fromEntries(names.map((name, k) => [name, asColumn(values[k]!)])),
  };
}

interface Left {
  readonly places: Uint32Array;
  /** The conditions that left any out, which tell the cycles: one that all of them pass does not. */
  readonly told: readonly string[];
}

function narrowed({ places, told }: Left, condition: Condition, column: CycleColumn): Left {
  const passed = passing(places, condition, column);
  if (passed.length === places.length) return { places, told };
  return { places: passed, told: [...told, JSON.stringify(condition)] };
}

function conditionAsk(condition: Condition): ColumnAsk {
  if (typeof condition === 'string') return holdsAsk(condition);
  return 'known' in condition ? condition.known : condition.no;
}

/** Those of the rows that pass a condition. A loop for each kind of column: one for all of them is many times as slow. */
function passing(rows: Uint32Array, condition: Condition, column: CycleColumn): Uint32Array {
  makeRoom(rows.length, 2 * rows.byteLength);
  if (typeof condition === 'string') return withMark(rows, column as Int8Array, 1);
  if ('no' in condition) return withMark(rows, column as Int8Array, 0);
  if (column instanceof Float64Array) return withNumber(rows, column);
  return column instanceof Int8Array ? withAnyMark(rows, column) : withLevel(rows, column.codes);
}

function withMark(rows: Uint32Array, marks: Int8Array, wanted: number): Uint32Array {
  const found = new Uint32Array(rows.length);
  let n = 0;
  for (let i = 0; i < rows.length; i++) if (marks[rows[i]!] === wanted) found[n++] = rows[i]!;
  return found.slice(0, n);
}

function withAnyMark(rows: Uint32Array, marks: Int8Array): Uint32Array {
  const found = new Uint32Array(rows.length);
  let n = 0;
  for (let i = 0; i < rows.length; i++) if (marks[rows[i]!] !== NO_MARK) found[n++] = rows[i]!;
  return found.slice(0, n);
}

function withNumber(rows: Uint32Array, values: Float64Array): Uint32Array {
  const found = new Uint32Array(rows.length);
  let n = 0;
  for (let i = 0; i < rows.length; i++) if (!Number.isNaN(values[rows[i]!]!)) found[n++] = rows[i]!;
  return found.slice(0, n);
}

function withLevel(rows: Uint32Array, codes: Int32Array): Uint32Array {
  const found = new Uint32Array(rows.length);
  let n = 0;
  for (let i = 0; i < rows.length; i++) if (codes[rows[i]!]! >= 0) found[n++] = rows[i]!;
  return found.slice(0, n);
}

function chosen(column: CycleColumn, keep: Uint32Array): Float64Array | Coded {
  if (column instanceof Float64Array) return inOrder(column, keep);
  if (column instanceof Int8Array) return chosenMarks(column, keep);
  return seenLevels(codesAt(column, keep));
}

function chosenMarks(marks: Int8Array, keep: Uint32Array): Float64Array {
  makeRoom(keep.length, 8 * keep.length);
  const found = new Float64Array(keep.length);
  for (let i = 0; i < keep.length; i++) {
    const mark = marks[keep[i]!]!;
    found[i] = mark === NO_MARK ? Number.NaN : mark;
  }
  return found;
}

/** A coded column in the rows named. */
export const codesAt = ({ levels, codes }: Coded, keep: Uint32Array): Coded => ({
  levels,
  codes: keep.length === codes.length ? codes : inOrder(codes, keep),
});
