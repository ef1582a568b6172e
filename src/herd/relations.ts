import { type DerivedSteps, fillCyclesSql, fillVisitsSql } from './derived-steps.ts';
import type { RelationOptions } from './foot-visit-sql.ts';
import { HERD } from './herd-names.ts';
import { rebuildCyclesSql } from './trim-cycle-sql.ts';
import { FEET } from './vocabularies.ts';

const NO_STEPS: DerivedSteps = { foot_visit: [], trim_cycle: [] };

/** Feet in the order of the vocabulary, not of the alphabet. */
export function footOrder(column: string): string {
  return `CASE ${column} ${FEET.map((foot, k) => `WHEN '${foot}' THEN ${k}`).join(' ')} END`;
}

/**
 * Works out anew what follows from the rows of some horses only: nothing in it reaches from one horse to another.
 * `horses` is a list of SQL literals; left out, the whole herd.
 */
export function rebuildSql(horses: string | null, options: RelationOptions): string[] {
  const where = horses === null ? 'TRUE' : `horse_id IN (${horses})`;
  const derived = options.derived ?? NO_STEPS;
  return [
    ...fillVisitsSql(derived, where),
    ...rebuildCyclesSql(options, where),
    ...fillCyclesSql(derived, where),
  ];
}

/**
 * The cohort: what every entry of a page looks at. `where` is an SQL condition over columns both relations have.
 * `cohort_visit` and `cohort_cycle` are the same with the numbers of row and foot, for who takes them out by column.
 */
export function cohortSql(where: string): string[] {
  const view = (name: string, columns: string, of: string): string =>
    `CREATE OR REPLACE VIEW ${name} AS SELECT ${columns} FROM ${HERD}.${of} WHERE ${where}`;
  return [
    view('foot_visit', '* EXCLUDE (row_no)', 'foot_visit_all'),
    view('trim_cycle', '* EXCLUDE (row_no, foot_no)', 'trim_cycle_all'),
    view('cohort_cycle', '*', 'trim_cycle_all'),
    view('cohort_visit', '*', 'foot_visit_all'),
  ];
}
