import { makeRoom } from '../core/let-go.ts';
import { numberAlike } from '../stats/alike.ts';
import { type Cells, collapseRows } from '../stats/cells.ts';
import { countedTransitions, type TransitionCells } from '../stats/transition-data.ts';
import { levelPart, mixedCode } from './alike-rows.ts';
import { type DesignColumns, designMatrix } from './design-columns.ts';
import { type Coded, type Grouping, rowsByLevel } from './groups.ts';

/** Trim cycles with a problem graded at both ends: arrays of length n. */
interface StatePairs {
  /** 0 clear, 1 present, after the trim and at the next visit. */
  readonly start: Uint8Array;
  readonly end: Uint8Array;
  readonly days: Float64Array;
  readonly horse: Int32Array;
  /** Levels of what is compared or held alike; -1 where it is not known. */
  readonly groups: ReadonlyMap<Grouping, Coded>;
}

/** Trim cycles that no fit can tell apart are one cell; arrays of the length of the cells. */
export interface PairCells {
  readonly cells: Cells;
  readonly start: Uint8Array;
  readonly end: Uint8Array;
  readonly days: Float64Array;
  readonly groups: ReadonlyMap<Grouping, Coded>;
}

export function pairCells({ start, end, days, horse, groups }: StatePairs): PairCells {
  const parts = [
    { codes: start, size: 2 },
    { codes: end, size: 2 },
    ...Array.from(groups.values(), levelPart),
  ];
  const mixed = mixedCode(parts, days.length);
  const cells = collapseRows([days, ...(mixed ? [mixed] : parts.map(({ codes }) => codes))], horse);
  const { firstRow } = cells;
  return {
    cells,
    start: Uint8Array.from(firstRow, (row) => start[row]!),
    end: Uint8Array.from(firstRow, (row) => end[row]!),
    days: Float64Array.from(firstRow, (row) => days[row]!),
    groups: new Map(
      Array.from(groups, ([grouping, { levels, codes }]) => [
        grouping,
        { levels, codes: Int32Array.from(firstRow, (row) => codes[row]!) },
      ]),
    ),
  };
}

/** Numbers cells alike in states, days and the levels of `used`: what a fit with these in it can tell apart. */
export const toldApart = ({ start, end, days }: PairCells, used: readonly Coded[]): Int32Array =>
  numberAlike([start, end, days, ...used.map(({ codes }) => codes)], days.length).numberOf;

/** The pairs of horse and cell, as `cells` has them, of each level of a code of cells. */
export const pairsByLevel = ({ pairCell }: Cells, { levels, codes }: Coded): number[][] =>
  rowsByLevel({ levels, codes: Int32Array.from(pairCell, (cell) => codes[cell]!) });

/** What one model is fitted to: some of the pairs, their cells joined where `told` does not tell them apart. */
export function ratesData(
  { cells: { pairCell, pairCluster, pairCount }, start, end, days }: PairCells,
  pairs: readonly number[],
  told: Int32Array,
  columns: DesignColumns,
): TransitionCells {
  const n = pairs.length;
  makeRoom(n, 20 * n);
  const [joined, horse, count] = [new Float64Array(n), new Int32Array(n), new Float64Array(n)];
  for (let i = 0; i < n; i++) {
    const pair = pairs[i]!;
    joined[i] = told[pairCell[pair]!]!;
    horse[i] = pairCluster[pair]!;
    count[i] = pairCount[pair]!;
  }
  const cells = collapseRows([joined], horse, count);
  const first = Int32Array.from(cells.firstRow, (i) => pairCell[pairs[i]!]!);
  const x = { columns: columns.names.length, values: designMatrix(columns, first) };
  return countedTransitions({
    cells,
    start: Float64Array.from(first, (cell) => start[cell]!),
    end: Float64Array.from(first, (cell) => end[cell]!),
    time: Float64Array.from(first, (cell) => days[cell]! / 365.25),
    onset: x,
    onsetTerms: columns.names.map((name) => `onset, ${name}`),
    clearing: x,
    clearingTerms: columns.names.map((name) => `clearing, ${name}`),
  });
}
