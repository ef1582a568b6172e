import { codedTextColumn, makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import { PROBLEMS, type ProblemKey } from '../../herd/problems.ts';
import type { AskContext } from '../analysis.ts';
import type { ColumnAsk } from '../cycle-columns.ts';
import { type CycleAsk, cycleTable, groupAsk, markAsk, numberAsk } from '../cycle-table.ts';
import { footRows } from '../foot-rows.ts';
import { gradedCycles, stateColumns } from '../graded-cycles.ts';
import type { Coded } from '../groups.ts';
import { problemRuns } from '../problem-runs.ts';
import { byFoot, cohortVisits, horseOf, keyOfFoot } from '../visit-rows.ts';
import type { ClearSpells, RecurrenceOptions, ReturnPairs } from './answer.ts';
import { spellsFrom } from './data.ts';

const gradeAsk = (problem: ProblemKey): ColumnAsk =>
  markAsk(quoteName(PROBLEMS.find(({ key }) => key === problem)!.column));

/** The spells that `spellWhere` selects. */
export async function clearSpells(
  context: AskContext,
  { problem, by }: RecurrenceOptions,
): Promise<ClearSpells> {
  const level = by === 'none' ? [] : [groupAsk(by)];
  const visits = await cohortVisits(context, [gradeAsk(problem), ...level]);
  const { horseIds } = visits;
  const runs = problemRuns(visits, visits.columns[0] as Int8Array).filter(
    ({ isPresent, after, first, next }) => !isPresent && !Number.isNaN(after) && !(next <= first),
  );
  const of = visits.columns[1] as Coded | undefined;
  const codes = Int32Array.from(runs, ({ at }) => of?.codes[at] ?? -1);
  return spellsFrom(
    makeTable({
      level: codedTextColumn(codes, of?.levels ?? []),
      horse_id: textColumn(runs.map(({ foot }) => horseIds[horseOf(foot)]!)),
      foot_key: textColumn(runs.map(({ foot }) => keyOfFoot(horseIds, foot))),
      left_days: numberColumn(runs.map(({ first, last }) => last - first)),
      right_days: numberColumn(runs.map(({ first, next }) => next - first)),
      looks: numberColumn(runs.map(({ visits: n, next }) => n - (Number.isNaN(next) ? 1 : 0))),
      spell_number: numberColumn(runs.map(({ number }) => number)),
    }),
  );
}

/** The trim cycles that `pairsWhere` selects, by foot and day. */
export async function returnPairs(
  context: AskContext,
  { problem, by }: RecurrenceOptions,
): Promise<ReturnPairs> {
  const from = await firstWith(context, problem);
  const ask: CycleAsk = {
    columns: {
      ...stateColumns(problem, []),
      begun: numberAsk("visit_date - DATE '1970-01-01'"),
      ...(by !== 'none' && { level: groupAsk(by) }),
    },
    where: gradedCycles(problem),
    also: ({ foot, columns }) => {
      const since = Float64Array.from(foot.levels, (key) => from.get(key) ?? Number.POSITIVE_INFINITY);
      const begun = columns.get('begun') as Float64Array;
      return (row) => begun[row]! >= since[foot.codes[row]!]!;
    },
  };
  const rows = footRows(await cycleTable(context, ask));
  return {
    level:
      by === 'none' ? { levels: [], codes: new Int32Array(rows.foot.length).fill(-1) } : rows.coded('level'),
    horse: rows.horse,
    foot: rows.foot,
    days: rows.numbers('days'),
    start: rows.marks('present_start'),
    end: rows.marks('present_end'),
  };
}

/** The day on which each foot was first seen with the problem; of those that ever were. */
async function firstWith(context: AskContext, problem: ProblemKey): Promise<ReadonlyMap<string, number>> {
  const visits = await cohortVisits(context, [gradeAsk(problem)]);
  const grades = visits.columns[0] as Int8Array;
  const found = new Map<string, number>();
  for (const rows of byFoot(visits)) {
    const first = rows.find((row) => grades[row]! >= 1);
    if (first !== undefined) found.set(keyOfFoot(visits.horseIds, visits.foot[first]!), visits.day[first]!);
  }
  return found;
}
