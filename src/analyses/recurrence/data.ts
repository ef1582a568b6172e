import { numbers, type Table, texts } from '../../core/table.ts';
import { literal, quoteName } from '../../engine/sql-text.ts';
import { PROBLEMS, type ProblemKey } from '../../herd/problems.ts';
import { footOrder, inOrder } from '../foot-order.ts';
import { allOf, codeColumn, groupSql } from '../groups.ts';
import type { ClearSpells, RecurrenceOptions } from './answer.ts';

/** Clear spells after a present one; two conflicting gradings on one day bound no stretch of time and are left out. */
export function spellWhere(problem: ProblemKey): string {
  return allOf(
    `problem = ${literal(problem)}`,
    'NOT present',
    'previous_seen IS NOT NULL',
    'next_seen IS NULL OR next_seen > first_seen',
  );
}

/** In whatever order they come, for `spellsFrom` to put in order. */
export function spellsSql({ problem, by }: RecurrenceOptions): string {
  return `
    SELECT ${by === 'none' ? 'NULL::VARCHAR' : `${groupSql(by)}::VARCHAR`} AS level, horse_id, foot_key,
      (last_seen - first_seen)::DOUBLE AS left_days,
      (next_seen - first_seen)::DOUBLE AS right_days,
      (visits - 1 + (next_seen IS NOT NULL)::INTEGER)::DOUBLE AS looks, spell_number::DOUBLE AS spell_number
    FROM spell WHERE ${spellWhere(problem)}`;
}

export function spellsFrom(table: Table): ClearSpells {
  const foot = codeColumn(table, 'foot_key');
  const order = footOrder(foot.codes, numbers(table, 'spell_number'), foot.levels.length);
  const level = texts(table, 'level');
  const right = inOrder(numbers(table, 'right_days'), order);
  return {
    level: Array.from(order, (row) => level[row] ?? null),
    horse: inOrder(codeColumn(table, 'horse_id').codes, order),
    foot: inOrder(foot.codes, order),
    left: inOrder(numbers(table, 'left_days'), order),
    right: right.map((days) => (Number.isNaN(days) ? Number.POSITIVE_INFINITY : days)),
    looks: inOrder(numbers(table, 'looks'), order),
  };
}

/** Trim cycles of feet that have had the problem, from the first visit with it on, graded at both ends. */
export function pairsWhere(problem: ProblemKey): string {
  const { column } = PROBLEMS.find(({ key }) => key === problem)!;
  return allOf(
    'flag IS NULL',
    `${quoteName(`${problem}_start`)} IS NOT NULL`,
    `${quoteName(`${problem}_end`)} IS NOT NULL`,
    `(foot_key, visit_date) IN (SELECT (c.foot_key, c.visit_date) FROM trim_cycle c JOIN (SELECT foot_key, min(visit_date) AS first_with FROM foot_visit WHERE ${quoteName(column)} >= 1 GROUP BY foot_key) p ON c.foot_key = p.foot_key AND c.visit_date >= p.first_with)`,
  );
}
