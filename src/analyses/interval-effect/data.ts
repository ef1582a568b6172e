import { numbers, type Table, texts } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import type { ProblemKey } from '../../herd/problems.ts';
import type { Counts } from '../format.ts';
import { allOf, type Coded, code, countRows, type Grouping, groupSql, isKnown } from '../groups.ts';
import type { IntervalOptions } from './options.ts';

/** Unflagged cycles with the problem graded at both ends: arrays of length n. */
export interface IntervalRows {
  readonly days: Float64Array;
  /** 0 clear, 1 present, after the trim and at the next visit. */
  readonly start: Uint8Array;
  readonly end: Uint8Array;
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  readonly band: readonly (string | null)[];
  readonly groups: ReadonlyMap<Grouping, Coded>;
  readonly counts: Counts;
  /** Cycles that began clear: those at risk. */
  readonly atRisk: Counts;
}

/** The condition of all rows of the fit. */
export function intervalWhere(problem: ProblemKey, adjust: readonly Grouping[]): string {
  return allOf(
    'flag IS NULL',
    `${quoteName(`${problem}_start`)} IS NOT NULL`,
    `${quoteName(`${problem}_end`)} IS NOT NULL`,
    ...adjust.map(isKnown),
  );
}

/** Those of them that began clear. */
export function atRiskWhere(problem: ProblemKey, adjust: readonly Grouping[]): string {
  return allOf(intervalWhere(problem, adjust), `NOT ${quoteName(`${problem}_start`)}`);
}

export function intervalSql({ problem, adjust }: IntervalOptions): string {
  return `
    SELECT horse_id, foot_key, days, interval_band AS band,
      ${quoteName(`${problem}_start`)}::INTEGER AS present_start, ${quoteName(`${problem}_end`)}::INTEGER AS present_end
      ${adjust.map((grouping) => `, ${groupSql(grouping)}::VARCHAR AS ${quoteName(`by ${grouping}`)}`).join('')}
    FROM trim_cycle WHERE ${intervalWhere(problem, adjust)}
    ORDER BY horse_id, foot_key, visit_date`;
}

export function gatherIntervals(table: Table): IntervalRows {
  const horse = code(texts(table, 'horse_id')).codes;
  const foot = code(texts(table, 'foot_key')).codes;
  const start = Uint8Array.from(numbers(table, 'present_start'));
  const groups = new Map<Grouping, Coded>();
  for (const name of Object.keys(table.columns)) {
    if (name.startsWith('by ')) groups.set(name.slice(3) as Grouping, code(texts(table, name)));
  }
  return {
    days: numbers(table, 'days'),
    start,
    end: Uint8Array.from(numbers(table, 'present_end')),
    horse,
    foot,
    band: texts(table, 'band'),
    groups,
    counts: countRows(horse, foot, () => true),
    atRisk: countRows(horse, foot, (row) => start[row] === 0),
  };
}
