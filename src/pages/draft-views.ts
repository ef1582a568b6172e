import type { AnalysisDraft } from '../analyses/analysis.ts';
import { type ChartSpec, chartData } from '../plots/chart-spec.ts';
import type { EntryResult, TableView } from './entry-state.ts';
import { tableOf, tableView } from './table-view.ts';

/** What an entry that a chart reads has to show: its result, or a draft of it. */
export type Standing = { readonly result: EntryResult } | { readonly draft: AnalysisDraft };

/**
 * The tables of a chart, some of them out of drafts of analyses that are still at work; null where one of them is not there
 * yet, or where nothing would be drawn before its bands are. `standing` is by lower-case name.
 */
export function draftViews(spec: ChartSpec, standing: ReadonlyMap<string, Standing>): EntryResult | null {
  const views: Record<string, TableView> = {};
  for (const name of chartData(spec)) {
    const [entry, table] = name.split('.');
    const read = standing.get(entry!.toLowerCase());
    if (!read) return null;
    if ('result' in read) {
      views[name] = tableView(name, read.result);
      continue;
    }
    const { tables, withoutBands, counts } = read.draft;
    const found = tables.find((each) => each.name.toLowerCase() === table?.toLowerCase());
    if (!found) return null;
    views[name] = { ...tableOf(found, counts), lacksBands: withoutBands.includes(found.name) };
  }
  return drawnWithoutBands(spec, views).marks.length > 0 ? { kind: 'data', views } : null;
}

/** The chart without the marks that stand for what its tables lack as yet. */
export function drawnWithoutBands(spec: ChartSpec, views: Readonly<Record<string, TableView>>): ChartSpec {
  const marks = spec.marks.filter(
    ({ mark, data }) => (mark !== 'band' && mark !== 'interval') || !views[data ?? spec.data]?.lacksBands,
  );
  return { ...spec, marks };
}
