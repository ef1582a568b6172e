import { cellAt, numbers, type Table, texts } from '../../core/table.ts';
import { literal } from '../../engine/sql-text.ts';
import type { ProblemKey } from '../../herd/problems.ts';
import { footOrder, inOrder } from '../foot-order.ts';
import { allOf, codeColumn, groupSql } from '../groups.ts';
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

/** In whatever order they come, for `runsFrom` to put in order: the engine sorts texts slowly. */
export function runsSql({ problem }: SpellsOptions): string {
  return `
    SELECT horse_id, horse_name, foot_key, ${groupSql('foot')} AS foot_words, spell_number::DOUBLE AS spell_number,
      present, previous_seen, first_seen, last_seen, next_seen, visits::DOUBLE AS visits
    FROM spell WHERE problem = ${literal(problem)}`;
}

export function runsFrom(table: Table): Runs {
  const [horse, foot] = [codeColumn(table, 'horse_id'), codeColumn(table, 'foot_key')];
  const order = footOrder(foot.codes, numbers(table, 'spell_number'), foot.levels.length);
  const text = (name: string): (string | null)[] => {
    const values = texts(table, name);
    return Array.from(order, (row) => values[row] ?? null);
  };
  const number = (name: string): Float64Array => inOrder(numbers(table, name), order);
  return {
    horseIds: text('horse_id'),
    footKeys: text('foot_key'),
    horseNames: text('horse_name'),
    feet: text('foot_words'),
    horse: inOrder(horse.codes, order),
    foot: inOrder(foot.codes, order),
    number: number('spell_number'),
    isPresent: Uint8Array.from(order, (row) => (cellAt(table, 'present', row) === true ? 1 : 0)),
    after: number('previous_seen'),
    first: number('first_seen'),
    last: number('last_seen'),
    next: number('next_seen'),
    visits: number('visits'),
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

function stateWhere(problem: ProblemKey, state: State): string {
  return allOf(`problem = ${literal(problem)}`, state === 'present' ? 'present' : 'NOT present');
}

export function begunWhere(problem: ProblemKey, state: State): string {
  return allOf(
    stateWhere(problem, state),
    'previous_seen IS NOT NULL',
    'next_seen IS NULL OR next_seen - previous_seen > last_seen - first_seen',
  );
}
