import type { CellRange } from './cell-range.ts';
import type { GridPlace } from './grid-keys.ts';
import type { CachedRow } from './row-cache.ts';
import type { GridColumn } from './row-source.ts';

/** Why a typed value cannot stand. */
export interface Refusal {
  readonly reason: string;
  readonly accepted: string;
}

/** What a grid asks of its host where cells can be changed. Places and ranges are of the rows and columns shown. */
export interface GridEditing {
  canEdit(column: GridColumn): boolean;
  /** Words a cell can hold, offered while it is typed; null where anything else can stand. */
  choices(column: GridColumn): readonly string[] | null;
  /** What a cell accepts, in words. */
  accepts(column: GridColumn): string;
  /** Null once the value stands. `row` is the row that the cell was seen in, wherever it stands by now. */
  commit(row: CachedRow, column: GridColumn, text: string): Promise<Refusal | null>;
  clear(range: CellRange): void;
  paste(at: GridPlace, text: string): void;
}

/** A cell being typed in. */
export interface Draft {
  readonly row: number;
  readonly column: number;
  readonly seen: CachedRow;
  readonly text: string;
  /** The offered word gone to by arrow; typing forgets it. */
  readonly chosen: string | null;
  /** As the cell stood. */
  readonly before: string;
  readonly isJudging: boolean;
  readonly refusal: Refusal | null;
}
