import type { AnalysisResult, ResultColumn, ResultTable } from '../analyses/analysis.ts';
import type { EntryResult, TableView } from './entry-state.ts';

const UNIT_SUFFIXES: Readonly<Record<string, string>> = {
  mm: 'mm',
  deg: 'degrees',
  kg: 'kg',
  days: 'days',
};

/** What a column's name alone says: `toe_before_mm` is "toe before" in mm. */
function columnFromName(name: string): ResultColumn {
  const words = name.split('_');
  const unit = words.length > 1 ? UNIT_SUFFIXES[words.at(-1) ?? ''] : undefined;
  const label = (unit ? words.slice(0, -1) : words).join(' ');
  return { name, label, ...(unit ? { unit } : {}) };
}

/** Columns that say which rows a figure rests on; they are never shown. */
export const isBehindColumn = (name: string) => /^behind(_title|_relation)?$/.test(name);

const unansweredView = (unanswered: string, relation: TableView['relation']): TableView => ({
  table: { rowCount: 0, columns: {} },
  title: '',
  columns: [],
  relation,
  unanswered,
});

/** The table that `entry` or `entry.table` names. Throws when an analysis that answered has no such table. */
export function tableView(data: string, result: EntryResult | null): TableView {
  const [entry, tableName] = data.split('.');
  if (result?.kind === 'query' && result.unanswered) return unansweredView(result.unanswered, 'foot_visit');
  if (result?.kind === 'query') {
    const columns = Object.keys(result.table.columns).map(columnFromName);
    return { table: result.table, title: entry!, columns, relation: 'foot_visit' };
  }
  if (result?.kind !== 'analysis') throw new Error(`${entry} must be a query or an analysis`);
  const { tables } = result.analysis;
  const found = tables.find((each) => each.name.toLowerCase() === tableName?.toLowerCase());
  const [unanswered] = result.analysis.unavailable;
  if (!found && unanswered) {
    return unansweredView(unanswered.sentence, 'trim_cycle');
  }
  if (!found) {
    throw new Error(
      `${entry} has no table ${tableName ?? ''}: there are ${tables.map((each) => each.name).join(', ')}`,
    );
  }
  return tableOf(found, result.analysis.counts);
}

export function tableOf(
  { table, title, relation, columns: known }: ResultTable,
  counts: AnalysisResult['counts'] | undefined,
): TableView {
  const described = new Map(known.map((column) => [column.name, column]));
  const columns = Object.keys(table.columns).map((name) => described.get(name) ?? columnFromName(name));
  return { table, title, columns, relation, ...(counts && { counts }) };
}
