import type { Table } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import {
  type Condition,
  type CycleAsk,
  groupColumns,
  isRecorded,
  markAsk,
  numberAsk,
} from '../cycle-table.ts';
import { footRows } from '../foot-rows.ts';
import type { Counts } from '../format.ts';
import { clearCycles } from '../graded-cycles.ts';
import { allOf, type Coded, countOf, type Grouping, isKnown } from '../groups.ts';
import { type EntryOptions, EXPOSURES, type Question } from './options.ts';

const PROBLEMS_READ = ['wall_infection', 'frog_infection', 'crack', 'separation'] as const;

/** Unflagged trim cycles: arrays of length n, NaN where a state is not known. */
export interface EntryRows {
  readonly days: Float64Array;
  readonly start: ReadonlyMap<string, Float64Array>;
  readonly end: ReadonlyMap<string, Float64Array>;
  /** By the exposure's name. */
  readonly exposed: ReadonlyMap<string, Float64Array>;
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  readonly groups: ReadonlyMap<Grouping, Coded>;
  /** For each row a number below `count` that stands for its levels of all groups. */
  readonly mixes: { readonly codes: Int32Array; readonly count: number };
}

/** Unflagged trim cycles, from columns of the whole cohort. */
export function entryAsk({ adjust }: EntryOptions): CycleAsk {
  const states = PROBLEMS_READ.flatMap((key) => [`${key}_start`, `${key}_end`]);
  return {
    columns: {
      days: numberAsk('days'),
      ...Object.fromEntries(states.map((name) => [name, markAsk(quoteName(name))])),
      ...Object.fromEntries(EXPOSURES.map(({ name, sql }) => [`with ${name}`, markAsk(sql)])),
      ...groupColumns(adjust),
    },
    where: ['flag IS NULL'],
  };
}

export function gatherEntries(table: Table): EntryRows {
  const rows = footRows(table);
  const exposed = new Map<string, Float64Array>(
    EXPOSURES.map(({ name }) => [name, rows.numbers(`with ${name}`)]),
  );
  const start = new Map(PROBLEMS_READ.map((key) => [key as string, rows.numbers(`${key}_start`)]));
  // The reverse order asks of the infection as of a way in.
  exposed.set('wall infection', start.get('wall_infection')!);
  exposed.set('frog infection', start.get('frog_infection')!);
  return {
    days: rows.numbers('days'),
    start,
    end: new Map(PROBLEMS_READ.map((key) => [key as string, rows.numbers(`${key}_end`)])),
    exposed,
    horse: rows.horse,
    foot: rows.foot,
    groups: rows.groups,
    mixes: mixCodes(rows.groups, table.rowCount),
  };
}

/** A number below `count` for each mix of what is held alike that the rows have. */
function mixCodes(groups: EntryRows['groups'], n: number): EntryRows['mixes'] {
  let codes = new Int32Array(n);
  let count = 1;
  for (const coded of groups.values()) {
    const seen = new Map<number, number>();
    const width = coded.levels.length + 1;
    const [before, level] = [codes, coded.codes];
    codes = before.map((code, row) => {
      const pair = code * width + level[row]! + 1;
      const known = seen.get(pair) ?? seen.size;
      seen.set(pair, known);
      return known;
    });
    count = Math.max(1, seen.size);
  }
  return { codes, count };
}

/** Cycles in which a question can be asked, those that began with the outcome too: they tell how fast it clears. */
export function usable(rows: EntryRows, { exposure, outcome }: Question, alike: boolean): number[] {
  const [start, end] = [rows.start.get(outcome)!, rows.end.get(outcome)!];
  const exposed = rows.exposed.get(exposure.name)!;
  const groups = alike ? [...rows.groups.values()] : [];
  return Array.from(rows.days.keys()).filter(
    (row) =>
      !Number.isNaN(start[row]) &&
      !Number.isNaN(end[row]) &&
      !Number.isNaN(exposed[row]) &&
      groups.every(({ codes }) => codes[row]! >= 0),
  );
}

/** SQL of the cycles that began clear of the outcome, the exposure known. */
export function atRiskWhere({ exposure, outcome }: Question, alike: readonly Grouping[]): string {
  return allOf(
    'flag IS NULL',
    `NOT ${outcome}_start`,
    `${outcome}_end IS NOT NULL`,
    `(${exposure.sql}) IS NOT NULL`,
    ...alike.map(isKnown),
  );
}

/** The same as conditions of columns, whatever is held alike. */
export const atRiskCycles = ({ exposure, outcome }: Question): Condition[] => [
  ...clearCycles(outcome),
  isRecorded(markAsk(exposure.sql)),
];

export const exposedWhere = (where: string, { exposure }: Question, exposed: boolean): string =>
  allOf(where, exposed ? exposure.sql : `NOT (${exposure.sql})`);

/** Among cycles that began clear: how many, and how many had the outcome at the next visit. */
export interface SeenOnset extends Counts {
  readonly onsets: number;
}

export function seenIn(rows: EntryRows, { outcome }: Question, keep: readonly number[]): SeenOnset {
  const end = rows.end.get(outcome)!;
  return {
    ...countOf(rows.horse, rows.foot, keep),
    onsets: keep.reduce((sum, row) => sum + end[row]!, 0),
  };
}
