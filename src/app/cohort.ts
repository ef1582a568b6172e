import { isoFromDay } from '../core/civil-day.ts';
import { literal, quoteName } from '../engine/sql-text.ts';
import {
  type CohortCondition,
  conditionSql,
  conditionWords,
  historySql,
  historyWords,
  type ProblemHistory,
  visitsWhere,
} from './cohort-condition.ts';

/** What the reader clicked to narrow the herd: any of the levels of a column, all of the columns. */
export interface Cohort {
  readonly levels: Readonly<Partial<Record<CohortColumn, readonly string[]>>>;
  /** Days, both ends included; null where open. */
  readonly from: number | null;
  readonly to: number | null;
  /** On any column of the visits; all must hold. */
  readonly conditions?: readonly CohortCondition[];
  readonly histories?: readonly ProblemHistory[];
  /** A condition over the columns of a visit, for those who write SQL. */
  readonly sql?: string;
}

export const COHORT_COLUMNS = {
  breed_type: 'Breed type',
  terrain: 'Ground',
  client_id: 'Client',
  practitioner_id: 'Practitioner',
  foot_end: 'Fore or hind',
} as const;
export type CohortColumn = keyof typeof COHORT_COLUMNS;

export const EVERYONE: Cohort = { levels: {}, from: null, to: null };

export function isEveryone(cohort: Cohort): boolean {
  return cohortWhere(cohort) === 'TRUE';
}

/** The SQL condition of a cohort, over columns that every relation has. Throws a sentence where a value is no value. */
export function cohortWhere(cohort: Cohort): string {
  const { levels, from, to, conditions: chosen = [], histories = [], sql = '' } = cohort;
  const conditions = Object.entries(levels).flatMap(([column, values]) =>
    values && values.length > 0 ? [`${quoteName(column)} IN (${values.map(literal).join(', ')})`] : [],
  );
  if (from !== null) conditions.push(`visit_date >= DATE ${literal(isoFromDay(from))}`);
  if (to !== null) conditions.push(`visit_date <= DATE ${literal(isoFromDay(to))}`);
  if (chosen.length > 0) conditions.push(visitsWhere(chosen.map(conditionSql).join(' AND ')));
  conditions.push(...histories.map(historySql));
  if (sql.trim() !== '') conditions.push(visitsWhere(sql.trim()));
  return conditions.length === 0 ? 'TRUE' : conditions.join(' AND ');
}

/** The cohort in words: `draft or pony; soft ground; from 2024-01-01`. */
export function cohortWords(cohort: Cohort): string {
  const parts = Object.entries(cohort.levels).flatMap(([column, values]) =>
    values && values.length > 0
      ? [`${COHORT_COLUMNS[column as CohortColumn].toLowerCase()} ${values.join(' or ')}`]
      : [],
  );
  if (cohort.from !== null) parts.push(`from ${isoFromDay(cohort.from)}`);
  if (cohort.to !== null) parts.push(`to ${isoFromDay(cohort.to)}`);
  parts.push(...(cohort.conditions ?? []).map(conditionWords), ...(cohort.histories ?? []).map(historyWords));
  if (cohort.sql?.trim()) parts.push(`where ${cohort.sql.trim().replaceAll(/\s+/g, ' ')}`);
  return parts.length === 0 ? 'the whole herd' : parts.join('; ');
}
