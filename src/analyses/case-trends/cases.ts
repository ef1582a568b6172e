import { type Table, textColumn } from '../../core/table.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { ResultTable } from '../analysis.ts';
import type { TrendOptions } from './options.ts';

export function casesTable(found: Table, { problem }: TrendOptions): ResultTable {
  const { cases, cases_standing, foot_words, ...columns } = found.columns;
  return {
    name: 'cases',
    title: `Cases of ${problemLabel(problem)}`,
    relation: 'foot_visit',
    columns: [
      { name: 'horse_id', label: 'Horse' },
      { name: 'horse_name', label: 'Name' },
      { name: 'client_id', label: 'Client' },
      { name: 'foot', label: 'Foot' },
      { name: 'problem', label: 'Problem' },
      { name: 'first_grade', label: 'Grade when first seen', digits: 0 },
      { name: 'worst_grade', label: 'Worst grade', digits: 0 },
      { name: 'last_clear', label: 'Last seen clear' },
      { name: 'first_seen', label: 'First seen' },
      { name: 'last_seen', label: 'Last seen' },
      { name: 'clear_by', label: 'Clear again by' },
      { name: 'standing', label: 'Standing at last visit' },
      { name: 'treated', label: 'Antifungal given' },
      { name: 'n_visits', label: 'Visits with it', digits: 0 },
    ],
    table: {
      rowCount: found.rowCount,
      columns: {
        ...columns,
        foot: foot_words!,
        problem: textColumn(Array.from({ length: found.rowCount }, () => problemLabel(problem))),
      },
    },
  };
}
