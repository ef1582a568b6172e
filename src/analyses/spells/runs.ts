import { literal, quoteName } from '../../engine/sql-text.ts';
import { PROBLEMS, type ProblemKey } from '../../herd/problems.ts';
import { FOOT_LABELS } from '../../herd/vocabularies.ts';
import type { AskContext } from '../analysis.ts';
import { groupAsk, markAsk } from '../cycle-table.ts';
import { footOrder } from '../foot-order.ts';
import { allOf, type Coded, code } from '../groups.ts';
import { type ProblemRun, problemRuns } from '../problem-runs.ts';
import { cohortVisits, footName, horseOf, keyOfFoot } from '../visit-rows.ts';
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

/** Every run of the cohort's visits, by foot and in time. */
export async function runsOf(context: AskContext, { problem }: SpellsOptions): Promise<Runs> {
  const { column } = PROBLEMS.find(({ key }) => key === problem)!;
  const visits = await cohortVisits(context, [markAsk(quoteName(column)), groupAsk('horse_name')]);
  const names = visits.columns[1] as Coded;
  const all = problemRuns(visits, visits.columns[0] as Int8Array);
  const keys = code(all.map(({ foot }) => keyOfFoot(visits.horseIds, foot)));
  const number = Float64Array.from(all, (run) => run.number);
  const runs = Array.from(footOrder(keys.codes, number, keys.levels.length), (row) => all[row]!);
  const horseIds = runs.map(({ foot }) => visits.horseIds[horseOf(foot)]!);
  const footKeys = runs.map(({ foot }) => keyOfFoot(visits.horseIds, foot));
  const numbersOf = (value: (run: ProblemRun) => number): Float64Array => Float64Array.from(runs, value);
  return {
    horseIds,
    footKeys,
    horseNames: runs.map(({ at }) => names.levels[names.codes[at]!] ?? null),
    feet: runs.map(({ foot }) => FOOT_LABELS[footName(foot)]),
    horse: code(horseIds).codes,
    foot: code(footKeys).codes,
    number: numbersOf((run) => run.number),
    isPresent: Uint8Array.from(runs, ({ isPresent }) => Number(isPresent)),
    after: numbersOf(({ after }) => after),
    first: numbersOf(({ first }) => first),
    last: numbersOf(({ last }) => last),
    next: numbersOf(({ next }) => next),
    visits: numbersOf((run) => run.visits),
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
