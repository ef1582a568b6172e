import type { Table } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import { BEGAN, cycleKinds, ENDED } from '../cycle-kinds.ts';
import {
  type Condition,
  type CycleAsk,
  groupColumns,
  isRecorded,
  markAsk,
  numberAsk,
} from '../cycle-table.ts';
import { footRows } from '../foot-rows.ts';
import { clearCycles } from '../graded-cycles.ts';
import { allOf, type Grouping, isKnown } from '../groups.ts';
import { type AskedCycles, EXPOSED, NOT_ASKED } from './asked.ts';
import { type EntryOptions, EXPOSURES, type Question } from './options.ts';

const PROBLEMS_READ = ['wall_infection', 'frog_infection', 'crack', 'separation'] as const;

/** Unflagged trim cycles: arrays of length n, NaN where a state is not known. */
interface EntryRows extends Omit<AskedCycles, 'states'> {
  readonly start: ReadonlyMap<string, Float64Array>;
  readonly end: ReadonlyMap<string, Float64Array>;
  /** By the exposure's name. */
  readonly exposed: ReadonlyMap<string, Float64Array>;
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
    start,
    end: new Map(PROBLEMS_READ.map((key) => [key as string, rows.numbers(`${key}_end`)])),
    exposed,
    horse: rows.horse,
    foot: rows.foot,
    nHorses: countCodes(rows.horse),
    nFeet: countCodes(rows.foot),
    kinds: cycleKinds(rows.numbers('days'), rows.groups),
  };
}

const countCodes = (codes: Int32Array): number => codes.reduce((most, code) => Math.max(most, code), -1) + 1;

/** Cycles in which a question can be asked, those that began with the outcome too: they tell how fast it clears. */
export function askedCycles(
  { start, end, exposed, ...rows }: EntryRows,
  { exposure, outcome }: Question,
): AskedCycles {
  return { ...rows, states: statesOf(exposed.get(exposure.name)!, start.get(outcome)!, end.get(outcome)!) };
}

function statesOf(exposed: Float64Array, start: Float64Array, end: Float64Array): Uint8Array {
  const states = new Uint8Array(exposed.length);
  for (let row = 0; row < states.length; row++) {
    const state = EXPOSED * exposed[row]! + BEGAN * start[row]! + ENDED * end[row]!;
    states[row] = Number.isNaN(state) ? NOT_ASKED : state;
  }
  return states;
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
