import { isoFromDay } from '../../core/civil-day.ts';
import { dayColumn, makeTable, numberColumn, type Table, textColumn } from '../../core/table.ts';
import { literal } from '../../engine/sql-text.ts';
import { FOOT_LABELS } from '../../herd/vocabularies.ts';
import type { AskContext } from '../analysis.ts';
import { NO_MARK } from '../cycle-columns.ts';
import { groupAsk, markAsk } from '../cycle-table.ts';
import type { Coded } from '../groups.ts';
import { type ProblemRun, problemRuns } from '../problem-runs.ts';
import { type CohortVisits, cohortVisits, footName, horseOf, keyOfFoot } from '../visit-rows.ts';
import { gradeColumn, type Looks, looksAmong } from './data.ts';
import type { TrendOptions } from './options.ts';

/** Graded visits, each with the graded visit of the foot before it. */
export async function looksOf(context: AskContext, options: TrendOptions): Promise<Looks> {
  const { by, grade } = options;
  const level = by === 'none' ? [] : [groupAsk(by)];
  const visits = await cohortVisits(context, [markAsk(gradeColumn(options)), ...level]);
  const of = (visits.columns[1] as Coded | undefined) ?? null;
  return looksAmong(visits, visits.columns[0] as Int8Array, of, grade);
}

/** Runs of graded visits at which a foot was a case, the latest first; `cases` is how many there are in all. */
export async function casesOf(context: AskContext, options: TrendOptions): Promise<Table> {
  const asks = [
    markAsk(gradeColumn(options)),
    groupAsk('horse_name'),
    groupAsk('client_id'),
    markAsk('antifungal'),
  ];
  const visits = await cohortVisits(context, asks);
  const grades = visits.columns[0] as Int8Array;
  const [names, clients] = visits.columns.slice(1) as [Coded, Coded];
  const key = ({ foot }: ProblemRun): string => keyOfFoot(visits.horseIds, foot);
  const all = problemRuns(visits, grades, options.grade).filter(({ isPresent }) => isPresent);
  const standing = all.filter(({ next }) => Number.isNaN(next));
  const listed = (options.list === 'standing' ? standing : all)
    .sort((a, b) => b.first - a.first || horseOf(a.foot) - horseOf(b.foot) || (key(a) < key(b) ? -1 : 1))
    .slice(0, options.limit);
  const rows = listed.map((run) => casesRows(visits, grades, run));
  const text = (of: Coded): (string | null)[] =>
    rows.map((own) => of.levels[of.codes[own.find((row) => of.codes[row]! >= 0) ?? -1] ?? -1] ?? null);
  const calledBy = text(names);
  const horse = listed.map(({ foot }) => visits.horseIds[horseOf(foot)]!);
  const foot = listed.map((run) => FOOT_LABELS[footName(run.foot)]);
  const number = (value: (run: ProblemRun, i: number) => number) => numberColumn(listed.map(value));
  const day = (value: (run: ProblemRun) => number) => dayColumn(listed.map(value));
  const total = options.list === 'standing' ? standing.length : all.length;
  return makeTable({
    horse_id: textColumn(horse),
    horse_name: textColumn(calledBy),
    client_id: textColumn(text(clients)),
    foot_words: textColumn(foot),
    first_grade: number(({ at }) => grades[at]!),
    worst_grade: number((_, i) => Math.max(...rows[i]!.map((row) => grades[row]!))),
    last_clear: day(({ after }) => after),
    first_seen: day(({ first }) => first),
    last_seen: day(({ last }) => last),
    clear_by: day(({ next }) => next),
    standing: textColumn(listed.map(({ next }) => (Number.isNaN(next) ? 'yes' : 'no'))),
    treated: textColumn(rows.map((own) => treatedIn(visits.columns[3] as Int8Array, own))),
    n_visits: number((run) => run.visits),
    cases: number(() => total),
    cases_standing: number(() => standing.length),
    behind: textColumn(listed.map((run) => behind(run, key(run), options))),
    behind_title: textColumn(
      listed.map((_, i) => `${calledBy[i] ?? horse[i]}, ${foot[i]}, while it was there`),
    ),
  });
}

/** Places of the graded visits of a run. */
function casesRows({ foot, places }: CohortVisits, grades: Int8Array, run: ProblemRun): number[] {
  const rows: number[] = [];
  for (let i = lowerBound(places, run.at); rows.length < run.visits; i++) {
    const row = places[i]!;
    if (foot[row] === run.foot && grades[row] !== NO_MARK) rows.push(row);
  }
  return rows;
}

/** Where a value stands in an ascending list. */
function lowerBound(values: Uint32Array, wanted: number): number {
  let [low, high] = [0, values.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (values[middle]! < wanted) low = middle + 1;
    else high = middle;
  }
  return low;
}

function treatedIn(antifungal: Int8Array, rows: readonly number[]): string {
  if (rows.some((row) => antifungal[row] === 1)) return 'yes';
  return rows.every((row) => antifungal[row] === NO_MARK) ? 'not recorded' : 'no';
}

function behind({ first, last }: ProblemRun, key: string, options: TrendOptions): string {
  const between = `DATE '${isoFromDay(first)}' AND DATE '${isoFromDay(last)}'`;
  return `foot_key = ${literal(key)} AND visit_date BETWEEN ${between} AND ${gradeColumn(options)} >= ${options.grade}`;
}
