import type { ReadonlySignal } from '@preact/signals';
import type { AnalysisDraft, AnalysisResult } from '../analyses/analysis.ts';
import type { ShownLength } from '../analyses/lengths.ts';
import type { Table } from '../core/table.ts';

/** A list choice gives its value, a range a number, a date ISO 8601 text. */
export type ChoiceValue = string | number;

/** Options of an analysis with every `$choice` already replaced by its value. */
export type AnalysisOptions = Readonly<Record<string, unknown>>;

/**
 * Who computes the entries of a page. The cohort is the executor's own: the page only watches its version.
 * Calls reject with an `Error` whose message is fit to be read by the user; an aborted call may reject with anything.
 */
export interface PageExecutor {
  /** Changes whenever the cohort, or any row that it could hold, changes. */
  readonly cohortVersion: ReadonlySignal<number>;
  /** The unit in which sentences give lengths: those analyses that write some are run again when it changes. */
  readonly lengths?: ReadonlySignal<ShownLength>;
  /**
   * Runs one SELECT over the cohort and keeps its result under `name`, so that later queries can read it.
   * `sql` still holds `$choice` names; `params` has a value for each of them.
   */
  runQuery(
    name: string,
    sql: string,
    params: Readonly<Record<string, ChoiceValue>>,
    signal: AbortSignal,
  ): Promise<Table>;
  /**
   * Runs the analysis `use` and keeps its tables as `name.<table>`. `progress` takes a fraction in 0–1 and a stage, `draft`
   * what can be shown before the answer.
   */
  runAnalysis(
    name: string,
    use: string,
    options: AnalysisOptions,
    run: {
      readonly signal: AbortSignal;
      progress(fraction: number, stage: string): void;
      readonly draft?: ((draft: AnalysisDraft) => void) | undefined;
    },
  ): Promise<AnalysisResult>;
  /**
   * Adds a column, `expression` under `name`, to the relation `on`, for this page's queries and analyses. One defined
   * later may use it. Rejects where the expression cannot be, and then the page has no such column.
   */
  defineColumn(
    name: string,
    column: { readonly on: 'foot_visit' | 'trim_cycle'; readonly expression: string },
    signal: AbortSignal,
  ): Promise<void>;
  /** Forgets what was kept under `name`. */
  dropEntry(name: string): Promise<void>;
}
