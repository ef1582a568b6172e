import type { z } from 'zod';
import type { CivilDay } from '../core/civil-day.ts';
import type { Unavailable } from '../core/outcome.ts';
import type { Table } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import type { Apart } from './apart.ts';
import type { ShownLength } from './lengths.ts';
import type { Remember } from './memory.ts';

/** Which rows an answer rests on: an SQL condition over one relation of the cohort. */
export interface Behind {
  readonly relation: 'trim_cycle' | 'foot_visit' | 'spell';
  readonly where: string;
  /** For the heading of the opened rows: `draft horses, all feet`. */
  readonly title: string;
}

/** A sentence computed from results, with its numbers, n and caution. */
export interface Finding {
  readonly sentence: string;
  readonly caution: string | null;
  readonly behind: Behind | null;
}

export interface ResultColumn {
  readonly name: string;
  readonly label: string;
  readonly unit?: string;
  /** Digits after the point; the figures in findings use the same. */
  readonly digits?: number;
  /** Holds shares of 0 to 1, which are read in per cent; `by-unit` only in rows whose `unit` is `share`. */
  readonly share?: true | 'by-unit';
}

/**
 * One table of an analysis, written to the engine as `<entry>.<name>`.
 * A text column `behind`, where there is one, holds for each row the SQL condition over `relation`
 * that selects the rows the figure was computed from; `behind_title` its heading, `behind_relation` another relation
 * where a row's figure rests on one.
 */
export interface ResultTable {
  readonly name: string;
  readonly title: string;
  readonly relation: Behind['relation'];
  readonly columns: readonly ResultColumn[];
  readonly table: Table;
}

export interface AnalysisResult {
  readonly analysis: string;
  /** The first is always `estimates`, tidy: see `TIDY_COLUMNS`. */
  readonly tables: readonly ResultTable[];
  readonly findings: readonly Finding[];
  /** Parts that could not be computed, each with its sentence. */
  readonly unavailable: readonly Unavailable[];
  readonly assumes: readonly string[];
  readonly cautions: readonly string[];
  readonly method: { readonly name: string; readonly source: string; readonly doc: string };
  readonly counts: { readonly horses: number; readonly feet: number; readonly cycles: number };
  /** The unit of the lengths in its sentences, told by whoever ran it; absent where it writes none. */
  readonly lengths?: ShownLength;
}

/** What can be shown of an analysis before it is done. */
export interface AnalysisDraft {
  /** Those that stand: charts are drawn of them. */
  readonly tables: readonly ResultTable[];
  /** Names of those among them whose bands are still being worked out: their limits are empty. */
  readonly withoutBands: readonly string[];
  /** Left out where they are not known yet. */
  readonly counts?: AnalysisResult['counts'];
}

export interface AnalysisContext {
  readonly engine: Engine;
  readonly today: CivilDay;
  /** Sentences give lengths in this unit; tables stay in mm, whatever is shown. */
  readonly lengths: ShownLength;
  readonly signal: AbortSignal;
  /** `fraction` in 0–1. */
  progress(fraction: number, stage: string): void;
  /** Hands over what stands already; left out where nobody watches. */
  readonly draft?: ((draft: AnalysisDraft) => void) | undefined;
  /** Keeps what several questions of one cohort need, by `remembered`; left out, each works it out for itself. */
  readonly remember?: Remember | undefined;
  /**
   * The same of what follows from the herd's rows whatever the cohort is; left out where that would be too much to keep, or
   * where columns of the page stand between.
   */
  readonly rememberHerd?: Remember | undefined;
  /** The same of columns of the cohort, where they are not to stand beside what `remember` keeps. */
  readonly rememberColumns?: Remember | undefined;
  /** Left out where there is no other thread, or none to spare. */
  readonly apart?: Apart | undefined;
}

/** What a part of an analysis needs to ask the herd. */
export type AskContext = Pick<
  AnalysisContext,
  'engine' | 'signal' | 'remember' | 'rememberHerd' | 'rememberColumns' | 'apart'
>;

/**
 * What stands under a key, or is made now: a fit that another entry or page may need as well. It must follow from the
 * key and the cohort's rows alone, so that no unit of the sentences may be asked for in it.
 */
export function remembered<T>(
  { remember }: Pick<AnalysisContext, 'remember'>,
  key: string,
  make: () => Promise<T>,
): Promise<T> {
  return remember ? remember(key, make) : make();
}

/** What keeps columns of the cohort. */
export const columnsKept = ({
  rememberColumns,
  remember,
}: Pick<AnalysisContext, 'remember' | 'rememberColumns'>): Remember | undefined =>
  rememberColumns ?? remember;

/** A typed transform module: one question of the herd's record. */
export interface Analysis<Options> {
  readonly name: string;
  readonly title: string;
  readonly question: string;
  readonly options: z.ZodType<Options>;
  run(options: Options, context: AnalysisContext): Promise<AnalysisResult>;
}

/** Columns of every `estimates` table, in order, as the batch command writes them. */
export const TIDY_COLUMNS = [
  'analysis',
  'problem',
  'term',
  'level',
  'estimate',
  'std_error',
  'conf_low',
  'conf_high',
  'unit',
  'n_horses',
  'n_feet',
  'n_cycles',
] as const;
