import type { AnalysisResult, Behind, ResultColumn } from '../analyses/analysis.ts';
import type { Table } from '../core/table.ts';
import type { ChoiceOption } from './entry-schemas.ts';
import type { ChoiceValue } from './page-executor.ts';
import type { QuestionResult, SamplesResult } from './question-schema.ts';

/** A table with what is known of its columns, as charts and tables read it. */
export interface TableView {
  readonly table: Table;
  /** The same in mm, where lengths of `table` were converted to be shown. */
  readonly stored?: Table;
  readonly title: string;
  readonly columns: readonly ResultColumn[];
  /** What a `behind` condition of this table selects from. */
  readonly relation: Behind['relation'];
  /** The sentence that stands in its place where the analysis could not answer; the table is then empty. */
  readonly unanswered?: string;
  /** Of the analysis as a whole, where the table comes from one. */
  readonly counts?: AnalysisResult['counts'];
  /** Its limits are still being worked out, and empty until then. */
  readonly lacksBands?: boolean;
}

export type EntryResult =
  | {
      readonly kind: 'query';
      readonly table: Table;
      /** The sentence of an analysis that could not answer, where this query reads a table that it would have had. */
      readonly unanswered?: string;
    }
  | { readonly kind: 'analysis'; readonly analysis: AnalysisResult }
  | {
      readonly kind: 'choice';
      readonly value: ChoiceValue | null;
      readonly options: readonly ChoiceOption[];
    }
  | { readonly kind: 'data'; readonly views: Readonly<Record<string, TableView>> }
  | { readonly kind: 'findings'; readonly analysis: AnalysisResult }
  | { readonly kind: 'column' }
  | QuestionResult
  | SamplesResult;

type EntryStatus = 'waiting' | 'running' | 'done' | 'failed' | 'blocked' | 'cancelled';

export interface EntryState {
  readonly status: EntryStatus;
  /** A fraction in 0–1 while running, where it is known. */
  readonly progress: number | null;
  /** The stage while running; the reason when failed or blocked. */
  readonly message: string | null;
  /** The newest result; while running or waiting again, the one before. */
  readonly result: EntryResult | null;
  /** While waiting: the result is of the newest rows all the same, as far as the analysis behind it has come. */
  readonly isDraft: boolean;
  /** How often it was computed. */
  readonly runs: number;
}

export const WAITING: EntryState = {
  status: 'waiting',
  progress: null,
  message: null,
  result: null,
  isDraft: false,
  runs: 0,
};
