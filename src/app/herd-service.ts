import type { AnalysisResult, Behind } from '../analyses/analysis.ts';
import type { HerdCounts } from '../analyses/load-herd.ts';
import type { Table } from '../core/table.ts';
import type { CallContext } from './rpc.ts';

/** What the worker was started with. Addresses are whole: relative ones mean nothing inside a blob worker. */
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

export interface Settings {
  readonly hemisphere: 'north' | 'south';
}

export interface RowsRequest {
  readonly behind: Behind;
  readonly offset: number;
  readonly limit: number;
  readonly sort: { readonly column: string; readonly descending: boolean } | null;
}

export interface Level {
  readonly value: string;
  readonly horses: number;
}

/** What is loaded, in figures and choices. */
export interface HerdSummary {
  readonly counts: HerdCounts;
  readonly levels: Readonly<
    Record<'breed_type' | 'terrain' | 'client_id' | 'practitioner_id', readonly Level[]>
  >;
}

/** Names under which analyses and queries of a page are kept in the engine. */
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

/** Methods of the herd's worker that pages use; `IntakeMethods` are beside them. */
export interface PageMethods {
  setCohort(where: string, context: CallContext): Promise<HerdCounts>;
  runQuery(run: QueryRun, context: CallContext): Promise<Table>;
  runAnalysis(run: EntryRun, context: CallContext): Promise<AnalysisResult>;
  dropEntry(name: string, context: CallContext): Promise<void>;
  countRows(behind: Behind, context: CallContext): Promise<number>;
  fetchRows(request: RowsRequest, context: CallContext): Promise<Table>;
}
