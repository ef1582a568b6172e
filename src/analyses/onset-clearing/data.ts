import type { Table } from '../../core/table.ts';
import { quoteName } from '../../engine/sql-text.ts';
import type { CycleAsk } from '../cycle-table.ts';
import { footRows } from '../foot-rows.ts';
import { gradedCycles, stateColumns } from '../graded-cycles.ts';
import { allOf, type Coded, type Grouping, isKnown } from '../groups.ts';
import type { OnsetOptions } from './options.ts';

/** Unflagged cycles with the problem graded at both ends: arrays of length n. */
export interface PairRows {
  readonly days: Float64Array;
  /** 0 clear, 1 present, after the trim and at the next visit. */
  readonly start: Uint8Array;
  readonly end: Uint8Array;
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  /** Levels of every grouping compared or held alike; −1 where it is not known. */
  readonly groups: ReadonlyMap<Grouping, Coded>;
}

/** Groupings of the adjusted comparison. */
export function heldAlike({ by, adjust }: OnsetOptions): Grouping[] {
  return [...new Set([...(by === 'none' ? [] : [by]), ...adjust])];
}

/** The condition of the rows of the crude figures: graded at both ends, and the grouping compared known. */
export function crudeWhere({ problem, by }: OnsetOptions): string {
  return allOf(
    'flag IS NULL',
    `${quoteName(`${problem}_start`)} IS NOT NULL`,
    `${quoteName(`${problem}_end`)} IS NOT NULL`,
    by === 'none' ? null : isKnown(by),
  );
}

/** And of those of the adjusted ones: everything held alike known as well. */
export function adjustedWhere(options: OnsetOptions): string {
  return allOf(crudeWhere(options), ...heldAlike(options).map(isKnown));
}

/** The rows, from columns of the whole cohort. */
export const onsetAsk = (options: OnsetOptions): CycleAsk => ({
  columns: stateColumns(options.problem, heldAlike(options)),
  where: gradedCycles(options.problem, options.by === 'none' ? [] : [options.by]),
});

export function gatherPairs(table: Table, options: OnsetOptions): PairRows {
  const rows = footRows(table);
  return {
    days: rows.numbers('days'),
    start: rows.marks('present_start'),
    end: rows.marks('present_end'),
    horse: rows.horse,
    foot: rows.foot,
    groups: new Map(heldAlike(options).map((grouping) => [grouping, rows.groups.get(grouping)!])),
  };
}
