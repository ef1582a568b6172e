import type { Table } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import { numberAlike } from '../../stats/alike.ts';
import { collapseRows } from '../../stats/cells.ts';
import {
  type Condition,
  type CycleAsk,
  groupColumns,
  isRecorded,
  markAsk,
  numberAsk,
} from '../cycle-table.ts';
import { type DesignColumns, levelColumns } from '../design-columns.ts';
import { inOrder } from '../foot-order.ts';
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
  /** Of each grouping its levels, the commonest left out. */
  readonly levels: readonly DesignColumns[];
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
    levels: Array.from(rows.groups, ([grouping, coded]) => levelColumns(grouping, coded)),
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
  readonly alike: AlikeAsked;
  /** In all these cycles, and in those of a known mix of groups. */
  readonly seen: { readonly crude: SeenOnsets; readonly adjusted: SeenOnsets };
}

/** Cycles of one horse that the question cannot tell apart, as one row that counts so often: arrays of length n. */
interface AlikeAsked {
  /** One of the cycles that each row stands for. */
  readonly rows: Int32Array;
  readonly weight: Float64Array;
  readonly states: Uint8Array;
  /** 1 with the outcome at the trim, and at the next visit. */
  readonly start: Uint8Array;
  readonly end: Uint8Array;
  readonly days: Float64Array;
  readonly horse: Int32Array;
  readonly mix: Int32Array;
}

const NOT_ASKED = 255;
export const ENDED = 1;
export const BEGAN = 2;
export const EXPOSED = 4;

/** Cycles in which a question can be asked, those that began with the outcome too: they tell how fast it clears. */
export function askedRows(rows: EntryRows, question: Question): AskedRows {
  const [start, end] = [rows.start.get(question.outcome)!, rows.end.get(question.outcome)!];
  const exposed = rows.exposed.get(question.exposure.name)!;
  const { codes } = rows.mixes;
  const n = rows.days.length;
  const states = new Uint8Array(n).fill(NOT_ASKED);
  const isAsked = new Uint8Array(n);
  const mixedStates = new Float64Array(n);
  const days = new Float64Array(n);
  for (let row = 0; row < n; row++) {
    const state = EXPOSED * exposed[row]! + BEGAN * start[row]! + ENDED * end[row]!;
    // Of rows left out anything may stand: they count for nothing.
    if (Number.isNaN(state)) continue;
    states[row] = state;
    isAsked[row] = 1;
    mixedStates[row] = 2 * EXPOSED * codes[row]! + state;
    days[row] = rows.days[row]!;
  }
  const { pairRow, pairCount } = collapseRows([mixedStates, days], rows.horse, isAsked);
  const alike = inOrder(states, pairRow);
  return {
    question,
    states,
    seen: seenOnsets(rows, states),
    alike: {
      rows: pairRow,
      weight: pairCount,
      states: alike,
      start: alike.map((state) => (state & BEGAN) >> 1),
      end: alike.map((state) => state & ENDED),
      days: inOrder(days, pairRow),
      horse: inOrder(rows.horse, pairRow),
      mix: inOrder(codes, pairRow),
    },
  };
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

/** Of all cycles in which the question can be asked, and of those of a known mix of groups. */
function seenOnsets(
  { horse, foot, nHorses, nFeet, mixes: { codes, isKnown } }: EntryRows,
  states: Uint8Array,
): AskedRows['seen'] {
  // For each horse and foot: 1 once it was seen without the exposure, 2 more once with it; four times that in a known mix.
  const horses = new Uint8Array(nHorses);
  const feet = new Uint8Array(nFeet);
  // Cycles by their state, from `MIXED` on those of a known mix.
  const cycles = new Int32Array(2 * MIXED);
  for (let row = 0; row < states.length; row++) {
    const state = states[row]!;
    if ((state & BEGAN) !== 0) continue;
    const known = isKnown[codes[row]!]!;
    const mark = (1 + 4 * known) << (state >> 2);
    horses[horse[row]!]! |= mark;
    feet[foot[row]!]! |= mark;
    cycles[MIXED * known + state]! += 1;
  }
  const known = cycles.subarray(MIXED);
  const all = known.map((count, state) => count + cycles[state]!);
  const [ofHorses, ofFeet] = [countMarks(horses), countMarks(feet)];
  const seen = (of: Int32Array, shift: number, exposures: number): SeenOnset => {
    const states = [0, 1].flatMap((side) => (exposures & (1 << side) ? [EXPOSED * side] : []));
    return {
      horses: marked(ofHorses, exposures << shift),
      feet: marked(ofFeet, exposures << shift),
      cycles: states.reduce((sum, state) => sum + of[state]! + of[state + ENDED]!, 0),
      onsets: states.reduce((sum, state) => sum + of[state + ENDED]!, 0),
    };
  };
  const onsets = (of: Int32Array, shift: number): SeenOnsets => ({
    all: seen(of, shift, 3),
    exposed: seen(of, shift, 2),
    unexposed: seen(of, shift, 1),
  });
  return { crude: onsets(all, 0), adjusted: onsets(known, 2) };
}

const MIXED = 2 * EXPOSED;

/** How many have each mark, 0 to 15. */
function countMarks(marks: Uint8Array): Int32Array {
  const counts = new Int32Array(16);
  for (const mark of marks) counts[mark]! += 1;
  return counts;
}

/** How many have any of the bits. */
const marked = (counts: Int32Array, bits: number): number =>
  counts.reduce((sum, count, mark) => ((mark & bits) === 0 ? sum : sum + count), 0);
