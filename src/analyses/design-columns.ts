import { makeRoom } from '../core/let-go.ts';
import { type Coded, commonest, type Grouping, groupingName } from './groups.ts';

/** Columns of a regression, each a name and its value in a row. */
export interface DesignColumns {
  readonly names: readonly string[];
  readonly at: readonly ((row: number) => number)[];
}

export const INTERCEPT: DesignColumns = { names: ['level'], at: [() => 1] };

/** One 0/1 column a level, the commonest left out: what the others are compared with. */
export function levelColumns(
  grouping: Grouping,
  coded: Coded,
  reference: number = commonest(coded),
): DesignColumns {
  const levels = coded.levels.map((level, k) => ({ level, k })).filter(({ k }) => k !== reference);
  return {
    names: levels.map(({ level }) => `${groupingName(grouping)} ${level}`),
    at: levels.map(
      ({ k }) =>
        (row: number) =>
          coded.codes[row] === k ? 1 : 0,
    ),
  };
}

export function sideBySide(...parts: readonly DesignColumns[]): DesignColumns {
  return { names: parts.flatMap((part) => part.names), at: parts.flatMap((part) => part.at) };
}

/** The same columns where row i stands for row `rows[i]` of them. */
export function throughRows({ names, at }: DesignColumns, rows: Int32Array): DesignColumns {
  return { names, at: at.map((value) => (i: number) => value(rows[i]!)) };
}

/** Without columns that are 0 in every row used: of a level that the rows left no longer have nothing can be told. */
export function usedColumns({ names, at }: DesignColumns, rows: readonly number[]): DesignColumns {
  const used = at.map((value) => rows.some((row) => value(row) !== 0));
  return { names: names.filter((_, j) => used[j]), at: at.filter((_, j) => used[j]) };
}

/** Row-major values of the columns in the rows named. */
export function designMatrix({ at }: DesignColumns, rows: ArrayLike<number>): Float64Array {
  const width = at.length;
  makeRoom(rows.length, 8 * rows.length * width);
  const x = new Float64Array(rows.length * width);
  for (let j = 0; j < width; j++) fillColumn(x, width, j, at[j]!, rows);
  return x;
}

/** By a call for each column, so that each reads its own values row after row. */
function fillColumn(
  x: Float64Array,
  width: number,
  j: number,
  valueAt: (row: number) => number,
  rows: ArrayLike<number>,
): void {
  for (let i = 0, at = j; i < rows.length; i++, at += width) x[at] = valueAt(rows[i]!);
}
