import type { Coded } from './groups.ts';

/** Whole numbers from `from` to below `size`, of which several make one. */
interface CodePart {
  readonly codes: ArrayLike<number>;
  readonly size: number;
}

/** -1 stands for a level that is missing. */
export const levelPart = ({ levels, codes }: Coded): CodePart => ({ codes, size: levels.length });

/**
 * One column that tells rows apart as those columns do together: rows are sorted out by each column in turn, and most of
 * them hold two or three levels. Values below 0 count as one more level. Null where there are more mixes than can be numbered.
 */
export function mixedCode(parts: readonly CodePart[], n: number): Float64Array | null {
  const mixes = parts.reduce((product, { size }) => product * (size + 1), 1);
  if (mixes > Number.MAX_SAFE_INTEGER) return null;
  const mixed = new Float64Array(n);
  for (const { codes, size } of parts) {
    for (let row = 0; row < n; row++) mixed[row] = mixed[row]! * (size + 1) + Math.max(codes[row]!, -1) + 1;
  }
  return mixed;
}
