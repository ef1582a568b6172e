import { numbers } from '../../core/table.ts';
import { SEPARATION_SITES } from '../../herd/vocabularies.ts';
import type { AskContext } from '../analysis.ts';
import type { ColumnAsk } from '../cycle-columns.ts';
import {
  type Condition,
  cycleTable,
  groupAsk,
  groupColumns,
  holdsAsk,
  markAsk,
  numberAsk,
} from '../cycle-table.ts';
import { footOrder } from '../foot-order.ts';
import { type Coded, code, codeColumn, seenLevels } from '../groups.ts';
import { problemRuns } from '../problem-runs.ts';
import { type CohortVisits, cohortVisits, horseOf, keyOfFoot } from '../visit-rows.ts';
import { handledWhere, isDone, type ReliefRows, type ReturnRows } from './data.ts';
import { PLACES, type ReliefOptions } from './options.ts';

/** The cycles of `cyclesWhere`, condition by condition. */
export const cycleConditions = (options: ReliefOptions): readonly Condition[] => [
  'flag IS NULL',
  'separation_start',
  handledWhere(options),
];

const SITE: ColumnAsk = { kind: 'text', sql: 'separation_site', levels: SEPARATION_SITES };
const DISTANCE = numberAsk('separation_to_white_line_mm');
const RELIEVED = markAsk(isDone('relieved'));

/**
 * A separation that cleared by the next visit has height 0 there. Where it is still there, or was not graded, only a
 * height that was read counts.
 */
export async function gatherCycles(context: AskContext, options: ReliefOptions): Promise<ReliefRows> {
  const table = await cycleTable(context, {
    columns: {
      days: numberAsk('days'),
      relieved: RELIEVED,
      site: SITE,
      distance: DISTANCE,
      height: numberAsk('separation_height_mm'),
      height_next: numberAsk('separation_height_next_mm'),
      cleared: markAsk('NOT separation_end'),
      broken: markAsk('wall_broken_next'),
      ...groupColumns(options.adjust),
    },
    where: cycleConditions(options),
  });
  const cleared = numbers(table, 'cleared');
  return {
    days: numbers(table, 'days'),
    relieved: Uint8Array.from(numbers(table, 'relieved')),
    place: placesOf(codeColumn(table, 'site'), numbers(table, 'distance'), options),
    height: numbers(table, 'height'),
    heightNext: numbers(table, 'height_next').map((mm, row) => (cleared[row] === 1 ? 0 : mm)),
    cleared,
    broken: numbers(table, 'broken'),
    horse: codeColumn(table, 'horse_id').codes,
    foot: codeColumn(table, 'foot_key').codes,
    groups: new Map(options.adjust.map((grouping) => [grouping, codeColumn(table, `by ${grouping}`)])),
  };
}

/** The spells of `spellsWhere` with the visit at which it was handled, by horse, foot and time. */
export async function gatherSpells(context: AskContext, options: ReliefOptions): Promise<ReturnRows> {
  const visits = await cohortVisits(context, [
    markAsk('separation_grade'),
    holdsAsk(handledWhere(options)),
    RELIEVED,
    SITE,
    DISTANCE,
    ...options.adjust.map(groupAsk),
  ]);
  const [grades, handledMarks, relieved, site, distance, ...groups] = visits.columns as [
    Int8Array,
    Int8Array,
    Int8Array,
    Coded,
    Float64Array,
    ...Coded[],
  ];
  const { horseIds } = visits;
  const handledAt = firstOfDay(visits, handledMarks);
  const found = problemRuns(visits, grades).flatMap((run) => {
    const row = run.isPresent ? undefined : handledAt(run.foot, run.after);
    return row === undefined || run.next <= run.first ? [] : [{ run, row }];
  });
  const keys = code(found.map(({ run }) => keyOfFoot(horseIds, run.foot)));
  const order = footOrder(
    keys.codes,
    Float64Array.from(found, ({ run }) => run.number),
    keys.levels.length,
  );
  const spells = Array.from(order, (k) => found[k]!);
  const at = Int32Array.from(spells, ({ row }) => row);
  const coded = ({ levels, codes }: Coded): Coded => ({ levels, codes: at.map((row) => codes[row]!) });
  return {
    left: Float64Array.from(spells, ({ run }) => run.last - run.first),
    right: Float64Array.from(spells, ({ run }) =>
      Number.isNaN(run.next) ? Number.POSITIVE_INFINITY : run.next - run.first,
    ),
    looks: Float64Array.from(spells, ({ run }) => run.visits - (Number.isNaN(run.next) ? 1 : 0)),
    relieved: Uint8Array.from(at, (row) => (relieved[row] === 1 ? 1 : 0)),
    place: placesOf(
      coded(site),
      Float64Array.from(at, (row) => distance[row]!),
      options,
    ),
    horse: code(spells.map(({ run }) => horseIds[horseOf(run.foot)]!)).codes,
    foot: code(spells.map(({ run }) => keyOfFoot(horseIds, run.foot))).codes,
    groups: new Map(options.adjust.map((grouping, k) => [grouping, seenLevels(coded(groups[k]!))])),
  };
}

/** The row of a foot and day that is marked, the first by file and line of several. */
function firstOfDay(
  { places, foot, day }: CohortVisits,
  marks: Int8Array,
): (foot: number, day: number) => number | undefined {
  const key = (of: number, on: number): number => of * 2 ** 20 + on;
  const first = new Map<number, number>();
  for (const row of places) {
    if (marks[row] !== 1) continue;
    const at = key(foot[row]!, day[row]!);
    if (!first.has(at)) first.set(at, row);
  }
  return (of, on) => first.get(key(of, on));
}

/** `placeSql` of every row. */
function placesOf(site: Coded, distance: Float64Array, { near_mm }: ReliefOptions): Coded {
  const [at, near, clear] = [0, 1, 2];
  const atLine = site.levels.indexOf('white_line');
  return {
    levels: PLACES,
    codes: site.codes.map((of, row) => {
      if (of >= 0 && of === atLine) return at;
      if (Number.isNaN(distance[row]!)) return -1;
      return distance[row]! < near_mm ? near : clear;
    }),
  };
}
