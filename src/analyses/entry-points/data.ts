import type { Table } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import { numberAlike } from '../../stats/alike.ts';
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
import { allOf, type Coded, type Grouping, isKnown } from '../groups.ts';
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
  readonly nHorses: number;
  readonly nFeet: number;
  readonly groups: ReadonlyMap<Grouping, Coded>;
  readonly mixes: GroupMixes;
}

/** The mixes of levels of all groups that the rows have. */
export interface GroupMixes {
  /** For each row a number below `count` that stands for its levels. */
  readonly codes: Int32Array;
  readonly count: number;
  /** For each mix one row that has it. */
  readonly rows: Int32Array;
  /** For each mix 1 where every level of it is known. */
  readonly isKnown: Uint8Array;
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
    nHorses: countCodes(rows.horse),
    nFeet: countCodes(rows.foot),
    groups: rows.groups,
    mixes: mixesOf([...rows.groups.values()], table.rowCount),
  };
}

const countCodes = (codes: Int32Array): number => codes.reduce((most, code) => Math.max(most, code), -1) + 1;

/** Numbered in the order in which rows have them. */
function mixesOf(groups: readonly Coded[], n: number): GroupMixes {
  const columns = groups.map(({ codes }) => codes);
  const { numberOf, firstRow } = numberAlike(columns, n);
  const isKnown = Uint8Array.from(firstRow, (row) => (columns.every((codes) => codes[row]! >= 0) ? 1 : 0));
  return { codes: numberOf, count: Math.max(1, firstRow.length), rows: firstRow, isKnown };
}

/** A question with what it finds in each row. */
export interface AskedRows {
  readonly question: Question;
  /**
   * `NOT_ASKED` where a state is not known; else 1 for the outcome at the next visit, 2 more for the outcome at the trim,
   * 4 more for the exposure.
   */
  readonly states: Uint8Array;
  /** 1 with the outcome at the trim, and at the next visit; 0 without, or where the question cannot be asked. */
  readonly start: Uint8Array;
  readonly end: Uint8Array;
}

export const NOT_ASKED = 255;
export const ENDED = 1;
export const BEGAN = 2;
export const EXPOSED = 4;

/** Cycles in which a question can be asked, those that began with the outcome too: they tell how fast it clears. */
export function askedRows(rows: EntryRows, question: Question): AskedRows {
  const [start, end] = [rows.start.get(question.outcome)!, rows.end.get(question.outcome)!];
  const exposed = rows.exposed.get(question.exposure.name)!;
  const n = rows.days.length;
  const asked = { question, states: new Uint8Array(n), start: new Uint8Array(n), end: new Uint8Array(n) };
  for (let row = 0; row < n; row++) {
    const state = EXPOSED * exposed[row]! + BEGAN * start[row]! + ENDED * end[row]!;
    asked.states[row] = Number.isNaN(state) ? NOT_ASKED : state;
    if (Number.isNaN(state)) continue;
    asked.start[row] = start[row]!;
    asked.end[row] = end[row]!;
  }
  return asked;
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

interface SeenOnsets {
  readonly all: SeenOnset;
  readonly exposed: SeenOnset;
  readonly unexposed: SeenOnset;
}

/** In all cycles in which the question can be asked, or in those of a known mix of groups. */
export function seenOnsets(rows: EntryRows, { states }: AskedRows, alike: boolean): SeenOnsets {
  const { horse, foot, mixes } = rows;
  // For each horse and foot: 1 once it was seen without the exposure, 2 more once with it.
  const horses = new Uint8Array(rows.nHorses);
  const feet = new Uint8Array(rows.nFeet);
  const cycles = [0, 0];
  const onsets = [0, 0];
  for (let row = 0; row < states.length; row++) {
    const state = states[row]!;
    if ((state & BEGAN) !== 0 || (alike && mixes.isKnown[mixes.codes[row]!] === 0)) continue;
    const side = state >> 2;
    horses[horse[row]!]! |= 1 << side;
    feet[foot[row]!]! |= 1 << side;
    cycles[side]! += 1;
    onsets[side]! += state & ENDED;
  }
  const [ofHorses, ofFeet] = [countMarks(horses), countMarks(feet)];
  const side = (at: 0 | 1): SeenOnset => ({
    horses: ofHorses[1 << at]! + ofHorses[3]!,
    feet: ofFeet[1 << at]! + ofFeet[3]!,
    cycles: cycles[at]!,
    onsets: onsets[at]!,
  });
  return {
    all: {
      horses: ofHorses[1]! + ofHorses[2]! + ofHorses[3]!,
      feet: ofFeet[1]! + ofFeet[2]! + ofFeet[3]!,
      cycles: cycles[0]! + cycles[1]!,
      onsets: onsets[0]! + onsets[1]!,
    },
    exposed: side(1),
    unexposed: side(0),
  };
}

/** How many have each mark, 0 to 3. */
function countMarks(marks: Uint8Array): Int32Array {
  const counts = new Int32Array(4);
  for (const mark of marks) counts[mark]! += 1;
  return counts;
}
