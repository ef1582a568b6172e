import type { ColumnName } from '../herd/dictionary.ts';

/** A value as it is stored: lengths in mm, angles in degrees, days as ISO 8601 text, null for nothing recorded. */
export type StoredValue = string | number | boolean | null;

/**
 * Names a row of the record whatever is amended in it: `horse|2026-03-09|LF` as it stood in the source, or as it was
 * first written for an added row.
 */
export type RowKey = string;

export type Deed =
  /** One cell set to another value. */
  | {
      readonly kind: 'change';
      readonly row: RowKey;
      readonly column: ColumnName;
      readonly old: StoredValue;
      readonly value: StoredValue;
    }
  /** A row that no file has: a visit written here, or a row set aside that was mended. */
  | {
      readonly kind: 'add';
      readonly row: RowKey;
      readonly values: Readonly<Partial<Record<ColumnName, StoredValue>>>;
      /** The row set aside that this one takes the place of. */
      readonly mends: { readonly file: string; readonly line: number; readonly foot: string | null } | null;
    }
  /** A row that is to count no longer; it stays in the source. */
  | { readonly kind: 'strike'; readonly row: RowKey }
  /** What these amendments did is to count no longer; undone in turn, it counts again. */
  | { readonly kind: 'undo'; readonly of: readonly string[] };

/** One recorded change. The log of them only ever grows; the source file is never touched. */
export interface Amendment {
  readonly id: string;
  /** Instant, ISO 8601 in UTC. */
  readonly at: string;
  /** One action of the user (a paste of many cells) shares it. */
  readonly batch: string;
  readonly by: string | null;
  readonly reason: string | null;
  readonly deed: Deed;
}
