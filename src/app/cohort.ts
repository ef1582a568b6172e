import { isoFromDay } from '../core/civil-day.ts';
import { literal, quoteName } from '../engine/sql-text.ts';
import { COHORT_COLUMNS, type Cohort, type CohortColumn } from './cohort-choice.ts';
import { conditionSql, conditionWords, historySql, historyWords, visitsWhere } from './cohort-condition.ts';

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
