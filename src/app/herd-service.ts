import type { AnalysisResult, Behind } from '../analyses/analysis.ts';
import type { ShownLength } from '../analyses/lengths.ts';
import type { HerdCounts } from '../analyses/load-herd.ts';
import type { Table } from '../core/table.ts';
import type { FileKind, Mapping, RememberedMapping } from '../intake/mapping.ts';
import type { AnalysisDescription } from '../pages/analysis-fields.ts';
import type { CohortColumn } from './cohort-choice.ts';
import type { CallContext } from './rpc.ts';
import type { Scene } from './scenes.ts';
import type { SheetMethods } from './sheet-service.ts';

/** What the worker is started with. Addresses are whole: relative ones mean nothing inside a blob worker. */
export interface StartInput {
  readonly engineWasm: string;
  readonly engineWorker: string;
  readonly parquetWasm: string;
  readonly today: number;
}

interface FileInput {
  readonly name: string;
  readonly bytes: Uint8Array;
  /** The file itself: of a large herd it is read again where it is wanted once more, and not kept in memory. */
  readonly file?: Blob;
}

/** What was found in a file, for the user to look over before its rows are read. */
export interface Inspection {
  readonly file: string;
  readonly format: 'delimited' | 'parquet';
  readonly encoding: string | null;
  readonly delimiter: string | null;
  readonly rowCount: number;
  readonly mapping: Mapping;
  /** Something of the mapping is as the user chose it for an earlier file with these headers. */
  readonly remembered: boolean;
}

interface AdmitInput {
  readonly files: readonly {
    readonly file: string;
    readonly mapping: Mapping;
    /** The name its rows are to bear, where another file has its own already. */
    readonly as?: string;
  }[];
  /** Together with what is loaded, or in its place. */
  readonly add: boolean;
  readonly hemisphere: 'north' | 'south';
}

/** The books of an intake: in every line rows read = admitted + set aside. */
export interface FileBooks {
  readonly file: string;
  readonly kind: 'visits' | 'horses';
  readonly sourceRows: number;
  readonly rowsRead: number;
  readonly admitted: number;
  readonly setAside: number;
  readonly emptyFeet: number;
}

export interface AdmitResult {
  readonly books: readonly FileBooks[];
  readonly notices: readonly string[];
  readonly setAside: Table;
  /** The day that pages count from. */
  readonly asOf: number;
  readonly summary: HerdSummary;
}

export interface Level {
  readonly value: string;
  readonly horses: number;
}

/** What is loaded, in figures and choices. */
export interface HerdSummary {
  readonly counts: HerdCounts;
  readonly levels: Readonly<Record<CohortColumn, readonly Level[]>>;
}

/** Rows behind a figure, of the scene that the figure was computed in. */
export interface RowsBehind extends Behind {
  readonly scene?: Scene;
}

export interface RowsRequest {
  readonly behind: RowsBehind;
  readonly offset: number;
  readonly limit: number;
  readonly sort: { readonly column: string; readonly descending: boolean } | null;
}

/** An analysis of a page, kept in the engine under `name`. */
interface EntryRun {
  readonly scene: Scene;
  readonly name: string;
  readonly use: string;
  readonly options: Readonly<Record<string, unknown>>;
  /** Of its sentences; mm where not said. */
  readonly lengths?: ShownLength;
}

/** One SELECT of a page, kept in the engine under `name`. */
export interface QueryRun {
  readonly scene: Scene;
  readonly name: string;
  readonly sql: string;
  readonly params: Readonly<Record<string, string | number>>;
}

export interface PageMethods {
  /** Throws with the engine's message where the condition cannot be. */
  setCohort(where: string, context: CallContext): Promise<void>;
  /** What the cohort that was set last holds. */
  countCohort(input: null, context: CallContext): Promise<HerdCounts>;
  runQuery(run: QueryRun, context: CallContext): Promise<Table>;
  runAnalysis(run: EntryRun, context: CallContext): Promise<AnalysisResult>;
  /** Every analysis that a page can ask for. */
  describeAnalyses(input: null, context: CallContext): Promise<readonly AnalysisDescription[]>;
  /** What the cohort of a scene holds. */
  countScene(scene: Scene, context: CallContext): Promise<HerdCounts>;
  /** Whether the scene's last column can be; throws with the engine's message where it cannot. */
  checkColumn(scene: Scene, context: CallContext): Promise<void>;
  dropEntry(entry: { readonly scene: Scene; readonly name: string }, context: CallContext): Promise<void>;
  countRows(behind: RowsBehind, context: CallContext): Promise<number>;
  fetchRows(request: RowsRequest, context: CallContext): Promise<Table>;
  /** All rows behind a figure as RFC 4180 text. */
  rowsAsCsv(behind: RowsBehind, context: CallContext): Promise<string>;
  /** A table as the bytes of a file. */
  takeAway(what: TakenTable, context: CallContext): Promise<TakenFile>;
}

export type TableFormat = 'csv' | 'parquet' | 'arrow';

export interface TakenTable {
  readonly format: TableFormat;
  readonly of:
    | { readonly kind: 'table'; readonly table: Table }
    /** All rows that a query kept, also those past what a page shows. */
    | { readonly kind: 'entry'; readonly scene: Scene; readonly name: string }
    | { readonly kind: 'rows'; readonly behind: RowsBehind };
}

export interface TakenFile {
  readonly bytes: Uint8Array<ArrayBuffer>;
  readonly rowCount: number;
  /** Cells that a spreadsheet would have run as a formula, written after an apostrophe; CSV only. */
  readonly defused: number;
}

export interface IntakeMethods {
  /** Opens files and proposes how to read them; what is loaded stays as it is. */
  inspect(
    input: { readonly files: readonly FileInput[]; readonly remembered: readonly RememberedMapping[] },
    context: CallContext,
  ): Promise<{
    readonly inspections: readonly Inspection[];
    /** A sentence for each file that is not what it says; the others are read all the same. */
    readonly refusals: readonly string[];
  }>;
  /** What the columns of an opened file seem to be if it holds the other kind of rows. */
  repropose(
    input: { readonly file: string; readonly kind: FileKind },
    context: CallContext,
  ): Promise<Mapping>;
  admit(input: AdmitInput, context: CallContext): Promise<AdmitResult>;
}

// Type aliases, not interfaces, so that they satisfy an index signature.
export type HerdMethods = {
  start: (input: StartInput, context: CallContext) => Promise<{ readonly version: string }>;
} & { [N in keyof PageMethods]: PageMethods[N] } & { [N in keyof IntakeMethods]: IntakeMethods[N] } & {
  [N in keyof SheetMethods]: SheetMethods[N];
};
