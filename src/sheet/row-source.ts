import type { ShownColumn } from '../core/format-value.ts';
import type { Table } from '../core/table.ts';

export type GridColumn = ShownColumn;

export interface RowSort {
  readonly column: string;
  readonly descending: boolean;
}

/** Where a grid gets its rows from: as many as there are, a stretch at a time, in the order wanted. */
export interface RowSource {
  readonly rowCount: number;
  readonly columns: readonly GridColumn[];
  /** Sources of one name show the same rows at different times: old ones stay in view until new ones are there. */
  readonly sameAs?: string;
  fetch(offset: number, limit: number, sort: RowSort | null): Promise<Table>;
}
