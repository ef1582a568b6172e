import { quoteName } from '../engine/sql-text.ts';
import type { ProblemKey } from '../herd/problems.ts';
import type { ColumnAsk } from './cycle-columns.ts';
import {
  type Condition,
  type CycleAsk,
  groupAsk,
  groupColumns,
  isNo,
  isRecorded,
  markAsk,
  numberAsk,
} from './cycle-table.ts';
import type { Grouping } from './groups.ts';

/** A problem after the trim and at the next visit. */
const statesOf = (problem: ProblemKey): { readonly start: ColumnAsk; readonly end: ColumnAsk } => ({
  start: markAsk(quoteName(`${problem}_start`)),
  end: markAsk(quoteName(`${problem}_end`)),
});

/** Unflagged cycles with the problem graded at both ends, and these groupings known. */
export function gradedCycles(problem: ProblemKey, known: readonly Grouping[] = []): Condition[] {
  const { start, end } = statesOf(problem);
  const groups = known.map((grouping) => isRecorded(groupAsk(grouping)));
  return ['flag IS NULL', isRecorded(start), isRecorded(end), ...groups];
}

/** Those of them that began clear. */
export const clearCycles = (problem: ProblemKey): Condition[] => [
  ...gradedCycles(problem),
  isNo(statesOf(problem).start),
];

/** Days and states of a problem, and the levels of groupings. */
export function stateColumns(problem: ProblemKey, groupings: readonly Grouping[]): CycleAsk['columns'] {
  const { start, end } = statesOf(problem);
  return {
    days: numberAsk('days'),
    present_start: start,
    present_end: end,
    ...groupColumns(groupings),
  };
}
