import type { AnalysisResult, Behind } from '../analyses/analysis.ts';
import type { HerdCounts } from '../analyses/load-herd.ts';
import type { Table } from '../core/table.ts';
import type { FileKind, Mapping, RememberedMapping } from '../intake/mapping.ts';
import type { CohortColumn } from './cohort.ts';
import type { CallContext } from './rpc.ts';

/** What the worker is started with. Addresses are whole: relative ones mean nothing inside a blob worker. */
export interface StartInput {
  readonly engineWasm: string;
  readonly engineWorker: string;
  readonly parquetWasm: string;
  readonly today: number;
}

export interface FileInput {
  readonly name: string;
  readonly bytes: Uint8Array;
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

export interface AdmitInput {
  readonly files: readonly { readonly file: string; readonly mapping: Mapping }[];
  /** Together with what is loaded, or in its place. */
  readonly add: boolean;
  readonly hemisphere: 'north' | 'south';
}

/** The books of an intake: in every line rows made = admitted + set aside. */
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

export interface RowsRequest {
  readonly behind: Behind;
  readonly offset: number;
  readonly limit: number;
  readonly sort: { readonly column: string; readonly descending: boolean } | null;
}

/** An analysis of a page, kept in the engine under `name`. */
export interface EntryRun {
  readonly name: string;
  readonly use: string;
  readonly options: Readonly<Record<string, unknown>>;
}

export interface QueryRun {
  readonly name: string;
  readonly sql: string;
  readonly params: Readonly<Record<string, string | number>>;
}

export interface PageMethods {
  setCohort(where: string, context: CallContext): Promise<HerdCounts>;
  runQuery(run: QueryRun, context: CallContext): Promise<Table>;
  runAnalysis(run: EntryRun, context: CallContext): Promise<AnalysisResult>;
  dropEntry(name: string, context: CallContext): Promise<void>;
  countRows(behind: Behind, context: CallContext): Promise<number>;
  fetchRows(request: RowsRequest, context: CallContext): Promise<Table>;
  /** All rows behind a figure as RFC 4180 text. */
  rowsAsCsv(behind: Behind, context: CallContext): Promise<string>;
}

export interface IntakeMethods {
  /** Opens files and proposes how to read them; what is loaded stays as it is. */
  inspect(
    input: { readonly files: readonly FileInput[]; readonly remembered: readonly RememberedMapping[] },
    context: CallContext,
  ): Promise<readonly Inspection[]>;
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
} & { [N in keyof PageMethods]: PageMethods[N] } & { [N in keyof IntakeMethods]: IntakeMethods[N] };
