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
  fetch(offset: number, limit: number, sort: RowSort | null): Promise<Table>;
}
