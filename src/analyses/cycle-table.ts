import { type Column, codedTextColumn, type Table } from '../core/table.ts';
import { BREED_TYPES, FOOT_LABELS, MOISTURES, PROTECTIONS, TERRAINS } from '../herd/vocabularies.ts';
import { type AskContext, remembered } from './analysis.ts';
import {
  type Asking,
  type ColumnAsk,
  type CycleColumn,
  cycleColumns,
  cycleRows,
  NO_MARK,
  placesOfCohort,
} from './cycle-columns.ts';
import { type Coded, type Grouping, groupSql, seenLevels } from './groups.ts';

/** SQL that holds of a cycle, or what holds of a column: that it is recorded, or that it says no. */
export type Condition = string | { readonly known: ColumnAsk } | { readonly no: ColumnAsk };

/** Columns by name, and which cycles: those for which every condition holds. */
export interface CycleAsk {
  readonly columns: Readonly<Record<string, ColumnAsk>>;
  readonly where: readonly Condition[];
  /** What more must hold of a row, told from all of them. */
  readonly also?: (cycles: Omit<ChosenCycles, 'keep'>) => (row: number) => boolean;
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
export const numberAsk = (sql: string): ColumnAsk => ({ kind: 'number', sql });
export const markAsk = (sql: string): ColumnAsk => ({ kind: 'mark', sql });

/** Columns of every trim cycle of the cohort, and the places of those chosen. */
interface ChosenCycles {
  readonly keep: Uint32Array;
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
  const { engine, signal, remember, rememberHerd } = context;
  const asking: Asking = rememberHerd
    ? { engine, signal, remember: rememberHerd, of: 'trim_cycle_all' }
    : { engine, signal, remember, of: 'cohort_cycle' };
  const names = Object.keys(columns);
  const rows = await cycleRows(asking);
  const [found, cohort] = await Promise.all([
    cycleColumns(asking, rows, [...Object.values(columns), ...where.map(conditionAsk)]),
    rememberHerd &&
      remembered(context, 'cycles of the cohort', () => placesOfCohort(context, 'cohort_cycle', rows)),
  ]);
  const tests = where.map((condition, k) => passing(condition, found[names.length + k]!));
  const all = { ...rows, columns: new Map(names.map((name, k) => [name, found[k]!])) };
  if (also) tests.push(also(all));
  return { ...all, keep: rowsWhere(cohort ?? Uint32Array.from(rows.given.keys()), tests) };
}

/** Trim cycles of the cohort with `horse_id`, `foot_key` and the columns asked for, by foot and day. */
export async function cycleTable(context: AskContext, ask: CycleAsk): Promise<Table> {
  const { keep, horse, foot, columns } = await chosenCycles(context, ask);
  const all = Array.from(columns, ([name, column]) => [name, chosen(column, keep)] as const);
  return {
    rowCount: keep.length,
    columns: { horse_id: chosen(horse, keep), foot_key: chosen(foot, keep), ...Object.fromEntries(all) },
  };
}

function conditionAsk(condition: Condition): ColumnAsk {
  if (typeof condition === 'string') return holdsAsk(condition);
  return 'known' in condition ? condition.known : condition.no;
}

function passing(condition: Condition, column: CycleColumn): (row: number) => boolean {
  if (typeof condition !== 'string' && 'known' in condition) return present(column);
  const wanted = typeof condition === 'string' ? 1 : 0;
  return (row) => (column as Int8Array)[row] === wanted;
}

function present(column: CycleColumn): (row: number) => boolean {
  if (column instanceof Float64Array) return (row) => !Number.isNaN(column[row]);
  if (column instanceof Int8Array) return (row) => column[row] !== NO_MARK;
  const { codes } = column;
  return (row) => codes[row]! >= 0;
}

/** One condition after the other, each over the rows that are left. */
function rowsWhere(rows: Uint32Array, conditions: readonly ((row: number) => boolean)[]): Uint32Array {
  // The cohort's are kept for the next question.
  let left = rows.slice();
  for (const passes of conditions) {
    let kept = 0;
    for (let i = 0; i < left.length; i++) if (passes(left[i]!)) left[kept++] = left[i]!;
    left = left.subarray(0, kept);
  }
  return left;
}

function chosen(column: CycleColumn, keep: Uint32Array): Column {
  // All of them: nothing need be copied.
  if (column instanceof Float64Array && keep.length === column.length)
    return { type: 'number', values: column };
  if (column instanceof Float64Array || column instanceof Int8Array) {
    const isMark = column instanceof Int8Array;
    const values = new Float64Array(keep.length);
    for (let i = 0; i < keep.length; i++) {
      const value = column[keep[i]!]!;
      values[i] = isMark && value === NO_MARK ? Number.NaN : value;
    }
    return { type: 'number', values };
  }
  const { levels, codes } = seenLevels(codesAt(column, keep));
  return codedTextColumn(codes, levels);
}

/** A coded column in the rows named. */
export function codesAt({ levels, codes }: Coded, keep: Uint32Array): Coded {
  const found = new Int32Array(keep.length);
  for (let i = 0; i < keep.length; i++) found[i] = codes[keep[i]!]!;
  return { levels, codes: found };
}
