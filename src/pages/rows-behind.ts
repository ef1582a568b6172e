import type { Behind } from '../analyses/analysis.ts';
import { type Cell, cellAt } from '../core/table.ts';
import type { TableView } from './entry-state.ts';

const RELATIONS: ReadonlySet<unknown> = new Set<Behind['relation']>(['trim_cycle', 'foot_visit', 'spell']);

/** What selects the rows that a row of a result was computed from; null where the result does not say. */
export function rowsBehind({ table, relation, title }: TableView, row: number): Behind | null {
  const cell = (name: string): Cell => (name in table.columns ? cellAt(table, name, row) : null);
  const where = cell('behind');
  if (typeof where !== 'string' || where === '') return null;
  const stated = cell('behind_relation');
  return {
    relation: RELATIONS.has(stated) ? (stated as Behind['relation']) : relation,
    where,
    title: String(cell('behind_title') ?? title),
  };
}
