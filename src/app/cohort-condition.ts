import type { CivilDay } from '../core/civil-day.ts';
import { literal, quoteName } from '../engine/sql-text.ts';
import { accepts } from '../herd/accepts.ts';
import { columnOf, isColumnName } from '../herd/dictionary.ts';
import { HERD } from '../herd/herd-names.ts';
import { PROBLEMS, type ProblemKey } from '../herd/problems.ts';
import { cellParser } from '../intake/cell-parser.ts';
import { isFault } from '../intake/values/parsed.ts';
import type { SheetFilter } from '../sheet/view.ts';
import { TEST_WORDS } from './filter-words.ts';
import type { SheetColumn } from './sheet-service.ts';

/** A condition on one column of the visits, as it was put together. */
export interface CohortCondition extends SheetFilter {
  readonly label: string;
  readonly kind: SheetColumn['kind'];
}

/** What a foot's record says of a problem: seen at an earlier visit, at any, or at none. */
export interface ProblemHistory {
  readonly problem: ProblemKey;
  readonly when: 'before' | 'ever' | 'never';
}

export const WHEN_WORDS: Readonly<Record<ProblemHistory['when'], string>> = {
  before: 'had it before',
  ever: 'has it at some visit',
  never: 'has it at no visit',
};

/** Later than any visit: a condition may name a day to come. */
const ANY_DAY = 200_000 as CivilDay;

function comparedValue({ column, kind, label, value }: CohortCondition): string | number | boolean {
  const text = (value ?? '').trim();
  if (text === '') throw new Error(`${label} needs a value to compare with`);
  if (!isColumnName(column) || kind === 'text') {
    const number = Number(text);
    return kind === 'derived' && Number.isFinite(number) ? number : text;
  }
  const described = columnOf(column);
  const read = cellParser(described, { dateOrder: 'day-first', decimal: 'point', today: ANY_DAY })(text);
  if (read === null || isFault(read)) {
    throw new Error(
      `${label}: ${isFault(read ?? '') ? (read as { fault: string }).fault : 'nothing'}. Accepted: ${accepts(described)}`,
    );
  }
  return read;
}

/** The SQL condition over the columns of a visit. Throws a sentence where the value is none of the column's. */
export function conditionSql(condition: CohortCondition): string {
  const { column, test, value, kind } = condition;
  const name = quoteName(column);
  if (test === 'missing') return `${name} IS NULL`;
  if (test === 'present') return `${name} IS NOT NULL`;
  if (test === 'contains') {
    return `contains(lower(${name}::VARCHAR), lower(${literal((value ?? '').trim())}))`;
  }
  const wanted = comparedValue(condition);
  const isDay = kind === 'day';
  const left =
    typeof wanted === 'number' && !isDay
      ? `try_cast(${name} AS DOUBLE)`
      : typeof wanted === 'string' && !isDay
        ? `lower(${name}::VARCHAR)`
        : name;
  const right = isDay
    ? `(DATE '1970-01-01' + ${Number(wanted)}::INTEGER)`
    : typeof wanted === 'string'
      ? `lower(${literal(wanted)})`
      : String(wanted);
  switch (test) {
    case 'is':
      // What was typed in inches stands for the nearest tenth of a millimetre.
      return kind === 'length' ? `abs(${left} - ${right}) < 0.05` : `${left} = ${right}`;
    case 'is not':
      return kind === 'length'
        ? `(${name} IS NULL OR abs(${left} - ${right}) >= 0.05)`
        : `${left} IS DISTINCT FROM ${right}`;
    case 'at least':
      return `${left} >= ${right}`;
    case 'at most':
      return `${left} <= ${right}`;
  }
}

/** Visits for which a condition holds, and the cycles that begin with them: both relations number them alike. */
export function visitsWhere(condition: string): string {
  return `row_no IN (SELECT row_no FROM ${HERD}.foot_visit_all WHERE (${condition}\n))`;
}

export function historySql({ problem, when }: ProblemHistory): string {
  const column = PROBLEMS.find(({ key }) => key === problem)?.column;
  if (!column) throw new Error(`there is no such problem: ${problem}`);
  const feet = `SELECT foot_key FROM ${HERD}.foot_visit_all WHERE ${column} >= 1`;
  if (when === 'ever') return `foot_key IN (${feet})`;
  if (when === 'never') return `foot_key NOT IN (${feet})`;
  return `row_no IN (
    SELECT v.row_no FROM ${HERD}.foot_visit_all v JOIN (
      SELECT foot_key, min(visit_date) AS first_seen FROM ${HERD}.foot_visit_all WHERE ${column} >= 1 GROUP BY foot_key
    ) p ON p.foot_key = v.foot_key AND p.first_seen < v.visit_date)`;
}

export function conditionWords({ label, test, value }: CohortCondition): string {
  const small = label.charAt(0).toLowerCase() + label.slice(1);
  return `${small} ${TEST_WORDS[test]}${value === null ? '' : ` ${value}`}`;
}

export function historyWords({ problem, when }: ProblemHistory): string {
  const label = PROBLEMS.find(({ key }) => key === problem)?.label ?? problem;
  return when === 'before'
    ? `feet that had ${label} before`
    : `feet with ${label} at ${when === 'ever' ? 'some' : 'no'} visit`;
}
