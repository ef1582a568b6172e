import { numberAlike } from '../stats/alike.ts';
import { numberKeys } from '../stats/number-keys.ts';
import { type DesignColumns, levelColumns } from './design-columns.ts';
import { inOrder } from './foot-order.ts';
import type { Coded, Grouping } from './groups.ts';

/** Bits of the state of a cycle: with the problem at the next visit, and with it after the trim. */
export const ENDED = 1;
export const BEGAN = 2;

/** Cycles of one kind have the same days and the same levels of all groups. Numbers alone, which go to any thread. */
export interface CycleKinds {
  /** For each row the number of its kind. */
  readonly of: Int32Array;
  /** For each kind its days, what numbers kinds of the same days alike, and its mix. */
  readonly days: Float64Array;
  readonly day: Int32Array;
  readonly mix: Int32Array;
  readonly mixes: GroupMixes;
}

/** The mixes of levels of all groups that the rows have: arrays with one place for each. */
interface GroupMixes {
  readonly count: number;
  /** 1 where every level is known. */
  readonly isKnown: Uint8Array;
  /** Of each grouping its levels but the commonest, and for each mix which of them it has; -1 for none of them. */
  readonly levels: readonly { readonly names: readonly string[]; readonly has: Int32Array }[];
}

/** Kinds and mixes are numbered in the order in which rows have them. */
export function cycleKinds(days: Float64Array, groups: ReadonlyMap<Grouping, Coded>): CycleKinds {
  const codes = Array.from(groups.values(), (group) => group.codes);
  const kinds = numberAlike([...codes, days], days.length);
  const first = kinds.firstRow;
  const ofKind = inOrder(days, first);
  const mixes = numberAlike(
    codes.map((each) => inOrder(each, first)),
    first.length,
  );
  const rows = inOrder(first, mixes.firstRow);
  return {
    of: kinds.numberOf,
    days: ofKind,
    day: numberKeys(ofKind, Number.POSITIVE_INFINITY).numberOf,
    mix: mixes.numberOf,
    mixes: {
      count: Math.max(1, rows.length),
      isKnown: Uint8Array.from(rows, (row) => (codes.every((each) => each[row]! >= 0) ? 1 : 0)),
      levels: Array.from(groups, ([grouping, coded]) => {
        const { names, at } = levelColumns(grouping, coded);
        return { names, has: rows.map((row) => at.findIndex((value) => value(row) !== 0)) };
      }),
    },
  };
}

/** Of each grouping its levels, as columns of rows of which the kinds are given. */
export function levelsOfKinds({ mix, mixes }: CycleKinds, kind: Int32Array): DesignColumns[] {
  return mixes.levels.map(({ names, has }) => ({
    names,
    at: names.map((_, level) => (row: number) => (has[mix[kind[row]!]!] === level ? 1 : 0)),
  }));
}
