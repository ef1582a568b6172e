import { cellAt, numbers, type Table, texts } from '../../core/table.ts';
import { literal } from '../../engine/sql-text.ts';
import type { ProblemKey } from '../../herd/problems.ts';
import { allOf, code, groupSql } from '../groups.ts';
import type { SpellsOptions } from './options.ts';

export const STATES = ['present', 'clear'] as const;
export type State = (typeof STATES)[number];

/**
 * Runs of visits of one foot at which the problem was present, or clear: arrays of length n. A run began after
 * `after` and by `first`, and ended after `last` and by `next`: days since 1970, NaN where no visit bounds it.
 */
export interface Runs {
  readonly horseIds: readonly (string | null)[];
  readonly horseNames: readonly (string | null)[];
  readonly footKeys: readonly (string | null)[];
  readonly feet: readonly (string | null)[];
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  readonly number: Float64Array;
  readonly isPresent: Uint8Array;
  readonly after: Float64Array;
  readonly first: Float64Array;
  readonly last: Float64Array;
  readonly next: Float64Array;
  readonly visits: Float64Array;
}

export function runsSql({ problem }: SpellsOptions): string {
  return `
    SELECT horse_id, horse_name, foot_key, ${groupSql('foot')} AS foot_words, spell_number::DOUBLE AS spell_number,
      present, previous_seen, first_seen, last_seen, next_seen, visits::DOUBLE AS visits
    FROM spell WHERE problem = ${literal(problem)}
    ORDER BY horse_id, foot_key, spell_number`;
}

export function runsFrom(table: Table): Runs {
  const horseIds = texts(table, 'horse_id');
  const footKeys = texts(table, 'foot_key');
  return {
    horseIds,
    horseNames: texts(table, 'horse_name'),
    footKeys,
    feet: texts(table, 'foot_words'),
    horse: code(horseIds).codes,
    foot: code(footKeys).codes,
    number: numbers(table, 'spell_number'),
    isPresent: Uint8Array.from({ length: table.rowCount }, (_, row) =>
      cellAt(table, 'present', row) === true ? 1 : 0,
    ),
    after: numbers(table, 'previous_seen'),
    first: numbers(table, 'first_seen'),
    last: numbers(table, 'last_seen'),
    next: numbers(table, 'next_seen'),
    visits: numbers(table, 'visits'),
  };
}

/** The least and the most days that a run can have lasted; NaN where no visit bounds it. */
export function lengthOf({ after, first, last, next }: Runs, row: number): { least: number; most: number } {
  return { least: last[row]! - first[row]!, most: next[row]! - after[row]! };
}

/**
 * Runs whose beginning lies between two visits: the ones that lengths are judged by. A run met under way is listed
 * only, since long ones are likelier to be met so.
 */
export function begunBetween(runs: Runs, state: State): number[] {
  const wanted = state === 'present' ? 1 : 0;
  return Array.from(runs.first.keys()).filter(
    (row) =>
      runs.isPresent[row] === wanted &&
      !Number.isNaN(runs.after[row]!) &&
      // Two gradings that disagree on one day bound no stretch of time.
      !(lengthOf(runs, row).most <= lengthOf(runs, row).least),
  );
}

export function stateWhere(problem: ProblemKey, state: State): string {
  return allOf(`problem = ${literal(problem)}`, state === 'present' ? 'present' : 'NOT present');
}

export function begunWhere(problem: ProblemKey, state: State): string {
  return allOf(
    stateWhere(problem, state),
    'previous_seen IS NOT NULL',
    'next_seen IS NULL OR next_seen - previous_seen > last_seen - first_seen',
  );
}
