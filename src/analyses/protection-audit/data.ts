import type { DecisionTable } from '../../core/decision-table.ts';
import { numbers, type Table } from '../../core/table.ts';
import { literal, quoteName } from '../../engine/sql-text.ts';
import type { AnalysisContext } from '../analysis.ts';
import { footRows } from '../foot-rows.ts';
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
function soleClasses(limits: readonly number[], shown: ShownLength): string {
  const sorted = [...new Set(limits)].sort((a, b) => a - b);
  const words = lengthWords(shown);
  const digits = (limit: number): number => (Number.isInteger(limit) ? 0 : 1);
  const number = (limit: number): string => words.figure(limit, 'mm', digits(limit));
  const length = (limit: number): string => words.quantity(limit, 'mm', digits(limit));
  const cases = sorted.map((limit, k) => {
    const named = k === 0 ? `under ${length(limit)}` : `${number(sorted[k - 1]!)} to ${length(limit)}`;
    return `WHEN sole_depth_mm < ${limit} THEN ${literal(named)}`;
  });
  const last = sorted.at(-1)!;
  return `CASE ${cases.join(' ')} WHEN sole_depth_mm >= ${last} THEN ${literal(`${length(last)} and over`)} END`;
}

function partSql(by: AlikeBy, options: ProtectionOptions, shown: ShownLength): string {
  if (by === 'sole') return soleClasses(options.sole_classes_mm, shown);
  if (by === 'tender')
    return "CASE WHEN sensitivity >= 1 THEN 'tender' WHEN sensitivity < 1 THEN 'not tender' END";
  return quoteName(by);
}

/** SQL whose value names the group of like feet: `pony, mixed, 12 to 15 mm`. NULL where a part of it is not recorded. */
export function stratumSql(options: ProtectionOptions, shown: ShownLength): string {
  const by = options.alike_by;
  if (by.length === 0) return "'all feet'";
  const parts = by.map((each) => `(${partSql(each, options, shown)})`);
  if (by.length === 1 || by.at(-1) !== 'tender') return `(${parts.join(" || ', ' || ")})`;
  // Most feet are not tender: only the others are named so.
  return `(${parts.slice(0, -1).join(" || ', ' || ")} || CASE ${parts.at(-1)} WHEN 'tender' THEN ', tender' WHEN 'not tender' THEN '' END)`;
}

export const isAdvice = (sql: string, advice: Advice): string => `(${sql}) = ${literal(advice)}`;

export function isStratum(sql: string, names: readonly string[]): string {
  return `${sql} IN (${names.map((name) => literal(name)).join(', ')})`;
}

/** Parts of what feet are alike by that the cycles have recorded at all. */
export async function recordedParts(
  { engine, signal }: Pick<AnalysisContext, 'engine' | 'signal'>,
  options: ProtectionOptions,
): Promise<AlikeBy[]> {
  const by = options.alike_by;
  if (by.length === 0) return [];
  const counts = by.map((each, k) => `count(${partSql(each, options, 'mm')})::INTEGER AS known_${k}`);
  const known = await engine.query(
    `SELECT ${counts.join(', ')}, count(*)::INTEGER AS n FROM trim_cycle WHERE ${AUDITED}`,
    signal,
  );
  if (numbers(known, 'n')[0] === 0) return [...by];
  return by.filter((_, k) => numbers(known, `known_${k}`)[0]! > 0);
}

export async function gatherProtection(
  { engine, signal }: Pick<AnalysisContext, 'engine' | 'signal'>,
  rule: DecisionTable,
  stratum: string,
): Promise<ProtectionRows> {
  return rowsOf(await engine.query(protectionSql(rule, stratum), signal));
}

/** Cycles in whatever order they are kept, for `footRows` to put in order. */
function protectionSql(rule: DecisionTable, stratum: string): string {
  return `
    SELECT horse_id, foot_key, cycle_number::DOUBLE AS cycle_number,
      (CASE ${adviceSql(rule)} WHEN 'bare' THEN 0 WHEN 'protect' THEN 1 ELSE 2 END)::INTEGER AS advice,
      (${LEFT_BARE})::INTEGER AS bare, coalesce((sensitivity_next >= 1)::INTEGER, -1)::INTEGER AS tender,
      (${stratum})::VARCHAR AS stratum
    FROM trim_cycle WHERE ${AUDITED}`;
}

function rowsOf(table: Table): ProtectionRows {
  const rows = footRows(table);
  const { levels, codes } = rows.coded('stratum');
  return {
    horse: rows.horse,
    foot: rows.foot,
    advice: rows.marks('advice'),
    bare: rows.marks('bare'),
    tender: new Int8Array(rows.numbers('tender')),
    stratum: codes,
    strata: levels,
  };
}
