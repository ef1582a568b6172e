import type { Column } from '../core/table.ts';

/** A bit for each cell, the lowest first, 0 where it is missing; null where none is. */
type Validity = Uint8Array | null;

/** Numbers, NaN counting as missing; where they stand for texts, `spell` says for which. */
export interface NumberCells {
  readonly kind: 'numbers';
  readonly type: 'number' | 'day' | 'text';
  readonly values: Float64Array;
  readonly validity: Validity;
  readonly spell?: (value: number) => string;
}

/** Text `i` is the bytes of UTF-8 from `offsets[i]` to `offsets[i + 1]`. */
export interface TextCells {
  readonly kind: 'texts';
  readonly type: 'text';
  readonly offsets: Int32Array;
  readonly bytes: Uint8Array;
  readonly validity: Validity;
}

/** Texts by a dictionary: text `i` is the word `keys[i]`; where it is missing, its key may be any. */
export interface KeyCells {
  readonly kind: 'keys';
  readonly type: 'text';
  readonly keys: ArrayLike<number>;
  readonly words: TextCells | readonly (string | null)[];
  readonly validity: Validity;
}

/** A bit for each cell, the lowest first. */
export interface BitCells {
  readonly kind: 'bits';
  readonly type: 'boolean';
  readonly bits: Uint8Array;
  readonly validity: Validity;
}

/** Cells that had to be made one by one; a missing number is NaN. */
interface ListedCells {
  readonly kind: 'list';
  readonly type: Column['type'];
  readonly values: ArrayLike<string | number | boolean | null>;
}

/** The cells of one column as they lie in Arrow's buffers (columnar format 1.5): no value is made for a cell. */
export type Cells = NumberCells | TextCells | KeyCells | BitCells | ListedCells;

export interface CellTable {
  readonly rowCount: number;
  readonly columns: readonly { readonly name: string; readonly cells: Cells }[];
}

/** Is cell `i` there? */
export const isThere = (validity: Validity, i: number): boolean =>
  validity === null || ((validity[i >> 3] as number) & (1 << (i & 7))) !== 0;
