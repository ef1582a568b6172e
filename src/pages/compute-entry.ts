import type { AnalysisDraft } from '../analyses/analysis.ts';
import { chartData } from '../plots/chart-spec.ts';
import { choiceResult } from './choice-result.ts';
import { choiceName } from './dependency-graph.ts';
import type { EntryResult } from './entry-state.ts';
import type { Entry } from './page.ts';
import type { AnalysisOptions, ChoiceValue, PageExecutor } from './page-executor.ts';
import { questionResult, samplesResult } from './question-result.ts';
import { choiceReferences, nameReferences } from './sql-references.ts';
import { tableView } from './table-view.ts';

interface ComputeContext {
  readonly executor: PageExecutor;
  /** Results of the entries that this one reads, by lower-case name. */
  readonly results: ReadonlyMap<string, EntryResult>;
  /** What the user chose, for a choice. */
  readonly wanted: ChoiceValue | undefined;
  readonly signal: AbortSignal;
  progress(fraction: number, stage: string): void;
  draft(draft: AnalysisDraft): void;
}

function choiceValue(name: string, results: ReadonlyMap<string, EntryResult>): ChoiceValue {
  const result = results.get(name.toLowerCase());
  if (result?.kind !== 'choice' || result.value === null)
    throw new Error(`choice must have a value: $${name}`);
  return result.value;
}

/** An option's value with each `$choice` replaced. */
function withChoices(value: unknown, results: ReadonlyMap<string, EntryResult>): unknown {
  if (typeof value === 'string') {
    const name = choiceName(value);
    return name === null ? value : choiceValue(name, results);
  }
  if (Array.isArray(value)) return value.map((each) => withChoices(each, results));
  if (value === null || typeof value !== 'object') return value;
  return Object.fromEntries(Object.entries(value).map(([key, each]) => [key, withChoices(each, results)]));
}

function views(data: readonly string[], results: ReadonlyMap<string, EntryResult>): EntryResult {
  const named = data.map((name) => {
    const entry = name.split('.')[0]!.toLowerCase();
    return [name, tableView(name, results.get(entry) ?? null)] as const;
  });
  return { kind: 'data', views: Object.fromEntries(named) };
}

/** Why what a query reads is not there, where an analysis before it could not answer; null where all is there. */
function unansweredBy(sql: string, results: ReadonlyMap<string, EntryResult>): string | null {
  for (const { name, table } of nameReferences(sql)) {
    const result = results.get(name.toLowerCase());
    if (result?.kind === 'query' && result.unanswered) return result.unanswered;
    if (result?.kind !== 'analysis' || table === null) continue;
    const sentence = tableView(`${name}.${table}`, result).unanswered;
    if (sentence) return sentence;
  }
  return null;
}

/** Computes one entry from the results it reads: at once for what only shows, as a promise for what the executor does. */
export function computeEntry(entry: Entry, context: ComputeContext): EntryResult | Promise<EntryResult> {
  const { executor, results, signal } = context;
  switch (entry.kind) {
    case 'query': {
      const sentence = unansweredBy(entry.body.sql, results);
      if (sentence) return { kind: 'query', table: { rowCount: 0, columns: {} }, unanswered: sentence };
      const names = choiceReferences(entry.body.sql).map((each) => each.name);
      const params = Object.fromEntries(names.map((name) => [name, choiceValue(name, results)]));
      return executor
        .runQuery(entry.name, entry.body.sql, params, signal)
        .then((table) => ({ kind: 'query', table }));
    }
    case 'analysis': {
      const { use, title: _title, ...options } = entry.body;
      return executor
        .runAnalysis(entry.name, use, withChoices(options, results) as AnalysisOptions, {
          signal,
          progress: context.progress,
          draft: context.draft,
        })
        .then((analysis) => ({ kind: 'analysis', analysis }));
    }
    case 'choice':
      return choiceResult(entry.body, context.wanted, results);
    case 'findings': {
      const read = results.get(entry.body.of.toLowerCase());
      if (read?.kind !== 'analysis') throw new Error(`${entry.body.of} must be an analysis`);
      return { kind: 'findings', analysis: read.analysis };
    }
    case 'chart':
      return views(chartData(entry.body), results);
    case 'table':
      return views([entry.body.of], results);
    case 'question':
      return questionResult(entry.body, results);
    case 'samples':
      return samplesResult(entry.body, results);
    case 'column': {
      const { on, expression } = entry.body;
      return executor.defineColumn(entry.name, { on, expression }, signal).then(() => ({ kind: 'column' }));
    }
  }
}
