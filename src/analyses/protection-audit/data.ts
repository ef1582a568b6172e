import type { DecisionTable } from '../../core/decision-table.ts';
import { literal } from '../../engine/sql-text.ts';
import { numberIds } from '../../stats/number-keys.ts';
import type { AskContext } from '../analysis.ts';
import type { ColumnAsk } from '../cycle-columns.ts';
import { type Condition, chosenCycles, cycleTable, groupAsk, isRecorded, markAsk } from '../cycle-table.ts';
import { footRows } from '../foot-rows.ts';
import type { Coded } from '../groups.ts';
import { lengthWords, type ShownLength } from '../lengths.ts';
import type { AlikeBy, ProtectionOptions } from './options.ts';
import { type Advice, adviceSql } from './verdict.ts';

export const ADVICES: readonly Advice[] = ['bare', 'protect', 'unknown'];

/** Trim cycles of which it is recorded what the foot left in: arrays of length n. */
export interface ProtectionRows {
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  /** Place in `ADVICES`. */
  readonly advice: Uint8Array;
  /** 1 left bare, 0 protected. */
  readonly bare: Uint8Array;
  /** 1 tender at the next visit, 0 not, −1 not graded. */
  readonly tender: Int8Array;
  /** Place in `strata`; −1 where one of what feet are alike by is not recorded. */
  readonly stratum: Int32Array;
  readonly strata: readonly string[];
}

export const AUDITED = 'flag IS NULL AND protection IS NOT NULL';
export const LEFT_BARE = "protection = 'bare'";
export const GRADED = 'sensitivity_next IS NOT NULL';

/** Classes of sole depth, each from its lower limit to under its upper one, in the unit in which lengths are read. */
function soleClasses(limits: readonly number[], shown: ShownLength): { sql: string; levels: string[] } {
  const sorted = [...new Set(limits)].sort((a, b) => a - b);
  const words = lengthWords(shown);
  const digits = (limit: number): number => (Number.isInteger(limit) ? 0 : 1);
  const number = (limit: number): string => words.figure(limit, 'mm', digits(limit));
  const length = (limit: number): string => words.quantity(limit, 'mm', digits(limit));
  const names = sorted.map((limit, k) =>
    k === 0 ? `under ${length(limit)}` : `${number(sorted[k - 1]!)} to ${length(limit)}`,
  );
  const cases = sorted.map((limit, k) => `WHEN sole_depth_mm < ${limit} THEN ${literal(names[k]!)}`);
  const last = sorted.at(-1)!;
  const over = `${length(last)} and over`;
  return {
    sql: `CASE ${cases.join(' ')} WHEN sole_depth_mm >= ${last} THEN ${literal(over)} END`,
    levels: [...new Set([...names, over])],
  };
}

const TENDER = ['tender', 'not tender'];

/** A part of what feet are alike by, as a column: SQL and which levels there can be. */
function partAsk(
  by: AlikeBy,
  options: ProtectionOptions,
  shown: ShownLength,
): Extract<ColumnAsk, { kind: 'text' }> {
  if (by === 'sole') return { kind: 'text', ...soleClasses(options.sole_classes_mm, shown) };
  if (by === 'tender') {
    const sql = "CASE WHEN sensitivity >= 1 THEN 'tender' WHEN sensitivity < 1 THEN 'not tender' END";
    return { kind: 'text', sql, levels: TENDER };
  }
  return groupAsk(by) as Extract<ColumnAsk, { kind: 'text' }>;
}

/** Columns of what feet are alike by, in order. */
export const partAsks = (options: ProtectionOptions, shown: ShownLength): ColumnAsk[] =>
  options.alike_by.map((by) => partAsk(by, options, shown));

const ALL_FEET = 'all feet';

/** Most feet are not tender: where it comes last, only the others are named so. */
const namesTenderOnly = (by: readonly AlikeBy[]): boolean => by.length > 1 && by.at(-1) === 'tender';

/** SQL whose value names the group of like feet: `pony, mixed, 12 to 15 mm`. NULL where a part of it is not recorded. */
export function stratumSql(options: ProtectionOptions, shown: ShownLength): string {
  const by = options.alike_by;
  if (by.length === 0) return literal(ALL_FEET);
  const parts = by.map((each) => `(${partAsk(each, options, shown).sql})`);
  if (!namesTenderOnly(by)) return `(${parts.join(" || ', ' || ")})`;
  return `(${parts.slice(0, -1).join(" || ', ' || ")} || CASE ${parts.at(-1)} WHEN 'tender' THEN ', tender' WHEN 'not tender' THEN '' END)`;
}

/** The same names from the levels of the parts. */
function stratumName(by: readonly AlikeBy[], levels: readonly string[]): string {
  if (by.length === 0) return ALL_FEET;
  if (!namesTenderOnly(by)) return levels.join(', ');
  return levels.slice(0, -1).join(', ') + (levels.at(-1) === 'tender' ? ', tender' : '');
}

export const isAdvice = (sql: string, advice: Advice): string => `(${sql}) = ${literal(advice)}`;

export function isStratum(sql: string, names: readonly string[]): string {
  return `${sql} IN (${names.map((name) => literal(name)).join(', ')})`;
}

/** The conditions of `AUDITED`: that it was left bare is known where it is known what it was left in. */
const AUDITED_ASK: readonly Condition[] = ['flag IS NULL', isRecorded(markAsk(LEFT_BARE))];

/** Parts of what feet are alike by that the cycles have recorded at all. */
export async function recordedParts(
  context: AskContext,
  options: ProtectionOptions,
  shown: ShownLength,
): Promise<AlikeBy[]> {
  const by = options.alike_by;
  if (by.length === 0) return [];
  const columns = numbered(partAsks(options, shown));
  const { keep, columns: found } = await chosenCycles(context, { columns, where: AUDITED_ASK });
  if (keep.length === 0) return [...by];
  return by.filter((_, k) => {
    const { codes } = found.get(`part ${k}`) as Coded;
    return keep.some((row) => codes[row]! >= 0);
  });
}

const numbered = (parts: readonly ColumnAsk[]): Record<string, ColumnAsk> =>
  Object.fromEntries(parts.map((part, k) => [`part ${k}`, part]));

/** What a rule says of a row, as a place in `ADVICES`. */
export const adviceAsk = (rule: DecisionTable): ColumnAsk =>
  markAsk(`CASE ${adviceSql(rule)} WHEN 'bare' THEN 0 WHEN 'protect' THEN 1 ELSE 2 END`);

/** Audited cycles by foot and day; feet are alike by `by`, whose columns are `parts`. */
export async function gatherProtection(
  context: AskContext,
  rule: DecisionTable,
  by: readonly AlikeBy[],
  parts: readonly ColumnAsk[],
): Promise<ProtectionRows> {
  const table = await cycleTable(context, {
    columns: {
      advice: adviceAsk(rule),
      bare: markAsk(LEFT_BARE),
      tender: markAsk('sensitivity_next >= 1'),
      ...numbered(parts),
    },
    where: AUDITED_ASK,
  });
  const rows = footRows(table);
  const { strata, stratum } = strataOf(
    by,
    parts.map((_, k) => rows.coded(`part ${k}`)),
    table.rowCount,
  );
  return {
    horse: rows.horse,
    foot: rows.foot,
    advice: rows.marks('advice'),
    bare: rows.marks('bare'),
    tender: gradedMarks(rows.numbers('tender')),
    stratum,
    strata,
  };
}

/** 0 and 1, −1 where missing. */
function gradedMarks(values: Float64Array): Int8Array {
  const marks = new Int8Array(values.length);
  for (let row = 0; row < marks.length; row++) marks[row] = Number.isNaN(values[row]!) ? -1 : values[row]!;
  return marks;
}

/** Groups of like feet that some row is of, by name, and of each row which: −1 where a part is not recorded. */
function strataOf(
  by: readonly AlikeBy[],
  parts: readonly Coded[],
  n: number,
): Pick<ProtectionRows, 'strata' | 'stratum'> {
  // The codes of the parts as the digits of one number.
  const mixed = new Int32Array(n);
  for (const { levels, codes } of parts) {
    for (let row = 0; row < n; row++) {
      mixed[row] = mixed[row]! < 0 || codes[row]! < 0 ? -1 : mixed[row]! * levels.length + codes[row]!;
    }
  }
  const { numberOf, firstRow } = numberIds(mixed);
  const names = Array.from(firstRow, (row) =>
    mixed[row]! < 0 ? null : stratumName(by, levelsOf(parts, mixed[row]!)),
  );
  const strata = [...new Set(names.filter((name) => name !== null))].sort();
  const place = Int32Array.from(names, (name) => (name === null ? -1 : strata.indexOf(name)));
  const stratum = new Int32Array(n);
  for (let row = 0; row < n; row++) stratum[row] = place[numberOf[row]!]!;
  return { strata, stratum };
}

function levelsOf(parts: readonly Coded[], mixed: number): string[] {
  let rest = mixed;
  return [...parts]
    .reverse()
    .map(({ levels }) => {
      const level = levels[rest % levels.length]!;
      rest = Math.floor(rest / levels.length);
      return level;
    })
    .reverse();
}
