import type { FileKind } from './mapping.ts';
import type { Read } from './read.ts';

/** A read with the candidates of it that were kept. */
export interface Taken {
  readonly read: Read;
  /** Its place among all that were read. */
  readonly index: number;
  readonly kept: Int32Array;
}

export function takenOf(reads: readonly Read[], dropped: readonly Uint8Array[], kind: FileKind): Taken[] {
  return reads.flatMap((read, index) =>
    read.kind === kind ? [{ read, index, kept: keptRows(read, dropped[index] as Uint8Array) }] : [],
  );
}

function keptRows({ rows }: Read, dropped: Uint8Array): Int32Array {
  const kept = new Int32Array(rows.length);
  let n = 0;
  for (let candidate = 0; candidate < rows.length; candidate++)
    if (dropped[candidate] === 0) kept[n++] = candidate;
  return kept.subarray(0, n);
}

/** Rows of a piece that come from one read and are of one foot: where they stand in the piece, and which they are. */
export interface Places {
  readonly taken: number;
  readonly foot: number;
  /** Null where they are all rows of the piece, in order. */
  readonly at: Int32Array | null;
  readonly candidates: Int32Array;
  /** The source row of each. */
  readonly rows: Int32Array;
}
