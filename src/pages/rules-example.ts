import { COMMON_RULE, RULE_SHAPE } from '../analyses/protection-audit/verdict.ts';
import type { DecisionColumn } from '../core/decision-table.ts';

/** Tenderness is graded in whole numbers: two ways to ask for it are enough to begin with. */
const TENDER_BOUNDS = [
  { label: 'none', below: 1 },
  { label: '1 or more', at_least: 1 },
];

const columnBody = (column: DecisionColumn) => {
  const { name, label } = column;
  if (column.kind === 'level') return { name, label, options: column.options.map(({ value }) => value) };
  const { min, max, unit } = column;
  const bounds = name === 'sensitivity' ? { bounds: TENDER_BOUNDS } : {};
  return { name, label, ...(unit ? { unit } : {}), min, max, ...bounds };
};

/** The body of a choice of kind `rules` to begin with: the four conditions under which a sole is commonly left bare. */
export const commonRulesBody = (label: string) => ({
  kind: 'rules',
  label,
  columns: RULE_SHAPE.columns.map(columnBody),
  outcomes: RULE_SHAPE.outcomes.map(({ value, label: words }) => ({ value, label: words })),
  rows: COMMON_RULE.rows,
  otherwise: COMMON_RULE.otherwise,
});
