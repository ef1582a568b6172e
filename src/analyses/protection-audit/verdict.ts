import {
  type DecisionRow,
  type DecisionShape,
  type DecisionTable,
  decisionText,
  readDecisions,
  rowMatches,
} from '../../core/decision-table.ts';
import { literal, quoteName } from '../../engine/sql-text.ts';
import { BREED_TYPES, MOISTURES, TERRAINS } from '../../herd/vocabularies.ts';

/** What a rule says of a foot: `unknown` where too little is recorded to say. */
export type Advice = 'bare' | 'protect' | 'unknown';

/** As they stand under `By your rule`: never an order. */
export const ADVICE_WORDS: Readonly<Record<Advice, string>> = {
  bare: 'may stay bare',
  protect: 'protect',
  unknown: 'not enough recorded to say',
};

const levels = (values: readonly string[]) => values.map((value) => ({ value, label: value }));

/** What a rule for leaving soles bare can ask for. */
export const RULE_SHAPE: DecisionShape = {
  columns: [
    { name: 'breed_type', label: 'Breed type', kind: 'level', options: levels(BREED_TYPES) },
    { name: 'terrain', label: 'Ground', kind: 'level', options: levels(TERRAINS) },
    { name: 'moisture', label: 'Moisture', kind: 'level', options: levels(MOISTURES) },
    { name: 'sole_depth_mm', label: 'Sole depth', kind: 'number', min: 0, max: 60, unit: 'mm' },
    { name: 'sensitivity', label: 'Tenderness', kind: 'number', min: 0, max: 3 },
  ],
  outcomes: [
    { value: 'bare', label: 'may stay bare' },
    { value: 'protect', label: 'protect' },
  ],
};

/**
 * A sole is left bare only when breed, soft ground, sole depth and absence of tenderness all agree (common practice).
 * At least 15 mm of sole (secondary source; 12 to 15 mm is called adequate by others). No value is published for draft
 * breeds: the user sets it.
 */
export const COMMON_RULE: DecisionTable = {
  rows: [
    {
      when: {
        breed_type: 'draft',
        terrain: 'soft',
        sole_depth_mm: { at_least: 15 },
        sensitivity: { below: 1 },
      },
      say: 'bare',
    },
  ],
  otherwise: 'protect',
};

export const COMMON_RULE_TEXT = decisionText(COMMON_RULE);

/** Reads a rule. Throws with row, column and what is accepted. */
export function readRule(text: string): DecisionTable {
  const { table, faults } = readDecisions(text, RULE_SHAPE);
  if (!table) throw new Error(`rule ${faults.map(({ message }) => message).join('; ')}`);
  return table;
}

export interface FootFacts {
  readonly breed_type: string | null;
  readonly terrain: string | null;
  readonly moisture: string | null;
  readonly sole_depth_mm: number | null;
  /** Grade at arrival, 0–3. */
  readonly sensitivity: number | null;
}

interface Verdict {
  readonly advice: Advice;
  /** Place of the row that decides, from 0; null for the last row, and where none can be said to. */
  readonly row: number | null;
}

/**
 * First match wins. A row that hangs on something not recorded might match: what comes after it holds only where both
 * say protect. So a foot is never said to stay bare on the strength of what is not known.
 */
export function verdict(rule: DecisionTable, foot: FootFacts): Verdict {
  const facts = { ...foot };
  const open: DecisionRow[] = [];
  for (const [place, row] of rule.rows.entries()) {
    const matches = rowMatches(row, facts);
    if (matches === true) return settled(row.say, place, open);
    if (matches === null) open.push(row);
  }
  return settled(rule.otherwise, null, open);
}

function settled(outcome: string, row: number | null, open: readonly DecisionRow[]): Verdict {
  return open.some((before) => blocks(before.say, outcome))
    ? { advice: 'unknown', row: null }
    : { advice: outcome as Advice, row };
}

/** Whether a row that may match keeps a later outcome from being said. */
const blocks = (before: string, outcome: string): boolean => outcome === 'bare' || before === 'bare';

/** The same verdict as SQL over columns of `trim_cycle` or `foot_visit`; SQL's AND knows three values as well. */
export function adviceSql(rule: DecisionTable): string {
  const conditions = rule.rows.map(rowSql);
  const said = (outcome: string, place: number): string => {
    const open = rule.rows
      .slice(0, place)
      .flatMap((row, k) => (blocks(row.say, outcome) ? [`(${conditions[k]}) IS NULL`] : []));
    const words = literal(outcome);
    return open.length === 0 ? words : `CASE WHEN ${open.join(' OR ')} THEN 'unknown' ELSE ${words} END`;
  };
  const last = said(rule.otherwise, rule.rows.length);
  if (rule.rows.length === 0) return last;
  const cases = rule.rows.map((row, k) => `WHEN ${conditions[k]} THEN ${said(row.say, k)}`);
  return `CASE ${cases.join(' ')} ELSE ${last} END`;
}

function rowSql({ when }: DecisionRow): string {
  const parts = Object.entries(when).flatMap(([name, condition]) => {
    const column = quoteName(name);
    if (typeof condition === 'string') return [`${column} = ${literal(condition)}`];
    return [
      ...(condition.at_least === undefined ? [] : [`${column} >= ${condition.at_least}`]),
      ...(condition.below === undefined ? [] : [`${column} < ${condition.below}`]),
    ];
  });
  return parts.length === 0 ? 'TRUE' : parts.join(' AND ');
}

/** The facts that a rule asks for, as column and words. */
export function askedFor(rule: DecisionTable): { readonly column: string; readonly words: string }[] {
  const named = new Set(rule.rows.flatMap(({ when }) => Object.keys(when)));
  return RULE_SHAPE.columns
    .filter(({ name }) => named.has(name))
    .map(({ name, label }) => ({ column: name, words: label.toLowerCase() }));
}
