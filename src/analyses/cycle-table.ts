import { type Column, codedTextColumn, type Table } from '../core/table.ts';
import { BREED_TYPES, FOOT_LABELS, MOISTURES, PROTECTIONS, TERRAINS } from '../herd/vocabularies.ts';
import type { AnalysisContext } from './analysis.ts';
import { type ColumnAsk, type CycleColumn, cycleColumns, cycleRows, NO_MARK } from './cycle-columns.ts';
import { type Coded, type Grouping, groupSql, seenLevels } from './groups.ts';

/** Columns by name, and which cycles: those for which every condition holds. */
export interface CycleAsk {
  readonly columns: Readonly<Record<string, ColumnAsk>>;
  readonly where: readonly string[];
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

/** A grouping as a column. */
export function groupAsk(grouping: Grouping): ColumnAsk {
  const levels = LEVELS[grouping];
  return { kind: 'text', sql: groupSql(grouping), ...(levels && { levels }) };
}

/** Whether a condition holds: 1 or 0. */
export const holdsAsk = (condition: string): ColumnAsk => ({
  kind: 'mark',
  sql: `coalesce((${condition}), FALSE)`,
});

/** The day on which a cycle ended, as days since 1970. */
export const endedAsk: ColumnAsk = { kind: 'number', sql: "next_date - DATE '1970-01-01'" };
export const numberAsk = (sql: string): ColumnAsk => ({ kind: 'number', sql });
export const markAsk = (sql: string): ColumnAsk => ({ kind: 'mark', sql });

/**
 * Trim cycles of the cohort with `horse_id`, `foot_key` and the columns asked for, by foot and day. The columns of a cohort
 * are taken out of the engine once and the rows chosen here: to choose them there takes longer than all else about them.
 */
export async function cycleTable(
  context: Pick<AnalysisContext, 'engine' | 'signal' | 'remember'>,
  { columns, where }: CycleAsk,
): Promise<Table> {
  const names = Object.keys(columns);
  const asked = Object.values(columns);
  const isThere = (condition: string) => asked.findIndex(({ sql }) => condition === `${sql} IS NOT NULL`);
  const others = where.filter((condition) => isThere(condition) < 0);
  const rows = await cycleRows(context);
  const found = await cycleColumns(context, rows, [...asked, ...others.map(holdsAsk)]);
  const keep = rowsWhere(rows.foot.codes.length, [
    ...where
      .map(isThere)
      .flatMap((k) => (k < 0 ? [] : [found[k]!]))
      .map(present),
    ...found.slice(asked.length).map((marks) => (row: number) => (marks as Int8Array)[row] === 1),
  ]);
  return {
    rowCount: keep.length,
    columns: {
      horse_id: chosen(rows.horse, keep),
      foot_key: chosen(rows.foot, keep),
      ...Object.fromEntries(names.map((name, k) => [name, chosen(found[k]!, keep)])),
    },
  };
}

function present(column: CycleColumn): (row: number) => boolean {
  if (column instanceof Float64Array) return (row) => !Number.isNaN(column[row]);
  if (column instanceof Int8Array) return (row) => column[row] !== NO_MARK;
  const { codes } = column;
  return (row) => codes[row]! >= 0;
}

/** One condition after the other, each over the rows that are left. */
function rowsWhere(n: number, conditions: readonly ((row: number) => boolean)[]): Uint32Array {
  let left = Uint32Array.from({ length: n }, (_, row) => row);
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
  const { levels, codes } = seenLevels(codesOf(column, keep));
  return codedTextColumn(codes, levels);
}

function codesOf({ levels, codes }: Coded, keep: Uint32Array): Coded {
  const found = new Int32Array(keep.length);
  for (let i = 0; i < keep.length; i++) found[i] = codes[keep[i]!]!;
  return { levels, codes: found };
}
