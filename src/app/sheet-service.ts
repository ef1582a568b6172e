import type { HerdCounts } from '../analyses/load-herd.ts';
import type { Table } from '../core/table.ts';
import type { ColumnKind } from '../herd/column.ts';
import type { Amendment, RowKey, StoredValue } from '../sheet/amendment.ts';
import type { ColumnSummary } from '../sheet/column-summary.ts';
import type { Conflict } from '../sheet/conflict.ts';
import type { DerivedColumn, ExpressionFault } from '../sheet/derived-column.ts';
import type { SheetView } from '../sheet/view.ts';
import type { CallContext } from './rpc.ts';

/** A column of the sheet: of the data dictionary, or derived. */
export interface SheetColumn {
  readonly name: string;
  readonly label: string;
  readonly kind: ColumnKind | 'derived';
  /** Unit shown: mm, °, kg. */
  readonly unit?: string;
  readonly digits?: number;
  /** A year: its thousands are not grouped. */
  readonly ungrouped?: true;
  readonly levels: readonly string[] | null;
  readonly editable: boolean;
  readonly required: boolean;
  /** What a cell accepts, in words. */
  readonly accepts: string;
}

/** A cell as the user typed or pasted it, for one row. */
export interface TypedCell {
  readonly row: RowKey;
  readonly column: string;
  readonly text: string;
}

/** What became of a typed cell: the value to be stored, or why not. */
export type Judged =
  | { readonly ok: true; readonly old: StoredValue; readonly value: StoredValue; readonly shown: string }
  | { readonly ok: false; readonly reason: string; readonly accepted: string };

/** A new row as typed, cell by cell; faults by column. */
export interface TypedRow {
  readonly cells: Readonly<Record<string, string>>;
}
export type JudgedRow =
  | { readonly ok: true; readonly row: RowKey; readonly values: Readonly<Record<string, StoredValue>> }
  | {
      readonly ok: false;
      readonly faults: readonly {
        readonly column: string | null;
        readonly reason: string;
        readonly accepted: string;
      }[];
    };

export interface Standing {
  readonly counts: HerdCounts;
  readonly conflicts: readonly Conflict[];
  /** The day that pages count from. */
  readonly asOf?: number;
}

/** Methods of the herd's worker for the sheet. `foot_visit` rows are named by `row_key`. */
export interface SheetMethods {
  sheetColumns(input: null, context: CallContext): Promise<readonly SheetColumn[]>;
  sheetCount(view: SheetView, context: CallContext): Promise<number>;
  /** Rows with all sheet columns and `row_key`; day columns as days. */
  sheetRows(
    input: { readonly view: SheetView; readonly offset: number; readonly limit: number },
    context: CallContext,
  ): Promise<Table>;
  /** Where a row stands in a view; null where it is not in it. */
  sheetPlace(
    input: { readonly view: SheetView; readonly row: RowKey },
    context: CallContext,
  ): Promise<number | null>;
  /** `most`: how many of the values of a text column are named, the most frequent first; 8 unless told. */
  columnSummary(
    input: { readonly view: SheetView; readonly column: string; readonly most?: number },
    context: CallContext,
  ): Promise<ColumnSummary>;
  /** The same checks as intake; nothing is changed. */
  judgeCells(cells: readonly TypedCell[], context: CallContext): Promise<readonly Judged[]>;
  judgeRows(rows: readonly TypedRow[], context: CallContext): Promise<readonly JudgedRow[]>;
  /**
   * A row set aside as it was read: by column of the dictionary the text of each cell, a bare number with its unit
   * (`3.5 in`), so that `judgeRows` reads it alike. Null where the source is no longer open.
   */
  setAsideCells(
    row: { readonly file: string; readonly line: number; readonly foot: string | null },
    context: CallContext,
  ): Promise<Readonly<Record<string, string>> | null>;
  /** Values last recorded for each foot of a horse, offered when a visit is added. */
  lastValues(
    horseId: string,
    context: CallContext,
  ): Promise<Readonly<Record<string, Readonly<Record<string, StoredValue>>>>>;
  /** Puts amendments, already kept by the caller, into effect: only the horses they touch are worked anew. */
  applyAmendments(amendments: readonly Amendment[], context: CallContext): Promise<Standing>;
  /** The whole log in effect over what is loaded, as after a reload or a newer export. */
  replaceAmendments(log: readonly Amendment[], context: CallContext): Promise<Standing>;
  /** Null where it is good. */
  checkExpression(column: DerivedColumn, context: CallContext): Promise<ExpressionFault | null>;
  setDerivedColumns(columns: readonly DerivedColumn[], context: CallContext): Promise<HerdCounts>;
  /** A blank record to write the first visit in. */
  startBlank(input: { readonly hemisphere: 'north' | 'south' }, context: CallContext): Promise<HerdCounts>;
}
