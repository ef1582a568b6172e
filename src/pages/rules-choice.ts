import { z } from 'zod';
import {
  checkDecisions,
  type DecisionColumn,
  type DecisionShape,
  type DecisionTable,
  decisionText,
  type Labelled,
  readDecisions,
} from '../core/decision-table.ts';
import { strictObject } from '../plots/strict-object.ts';

/** Schemas of a choice of kind `rules`: a decision table, its columns and what it may say. */

const levelOption = z.union([
  z.string().transform((value): Labelled => ({ value, label: value })),
  strictObject({ value: z.string(), label: z.string() }),
]);

const columnName = z
  .string()
  .regex(/^[A-Za-z][A-Za-z0-9_]*$/, { error: 'must be a name: letters, digits, _' });

const levelColumn = strictObject({
  name: columnName,
  label: z.string().min(1),
  options: z.array(levelOption).min(1),
}).transform((column): DecisionColumn => ({ kind: 'level', ...column }));

const numberColumn = strictObject({
  name: columnName,
  label: z.string().min(1),
  min: z.number(),
  max: z.number(),
  unit: z.string().optional(),
  /** Only these bounds can be chosen, each with words of its own. */
  bounds: z
    .array(
      strictObject({
        label: z.string().min(1),
        at_least: z.number().optional(),
        below: z.number().optional(),
      }),
    )
    .min(1)
    .optional(),
}).transform(({ bounds, ...column }): DecisionColumn => ({ kind: 'number', ...column, options: bounds }));

export const rulesChoice = strictObject({
  kind: z.literal('rules'),
  label: z.string().min(1),
  columns: z.array(z.union([levelColumn, numberColumn])).min(1),
  outcomes: z.array(levelOption).min(2),
  /** `{when: {terrain: soft, sole_depth_mm: {at_least: 15}}, say: bare}` */
  rows: z.array(z.unknown()).default([]),
  otherwise: z.string(),
});
export type RulesBody = z.output<typeof rulesChoice>;

export const rulesShape = ({ columns, outcomes }: RulesBody): DecisionShape => ({ columns, outcomes });

/** What is wrong with a page's own rows: where, and in words. */
export function rulesFaults(body: RulesBody): { readonly path: PropertyKey[]; readonly message: string }[] {
  return checkDecisions(body, rulesShape(body)).faults.map(({ row, message }) => ({
    path: row === null ? ['otherwise'] : ['rows', row - 1],
    message: message.replace(/^row \d+,? /, '').replace(/^otherwise /, ''),
  }));
}

/** The page's own table. Throws where its rows were not checked before. */
export function ownRules(body: RulesBody): DecisionTable {
  const { table, faults } = checkDecisions(body, rulesShape(body));
  if (!table) throw new Error(faults.map(({ message }) => message).join('; '));
  return table;
}

export const ownRulesText = (body: RulesBody): string => decisionText(ownRules(body));

/** What was chosen, where this page can still read it; otherwise the page's own. */
export function rulesValue(body: RulesBody, wanted: unknown): string {
  if (typeof wanted !== 'string') return ownRulesText(body);
  const { table } = readDecisions(wanted, rulesShape(body));
  return table ? decisionText(table) : ownRulesText(body);
}
