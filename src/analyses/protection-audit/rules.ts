import { type DecisionTable, decisionText } from '../../core/decision-table.ts';
import type { AskContext } from '../analysis.ts';
import { agreementOn, type Counted, tenderWhen } from './compare.ts';
import { gatherProtection, type ProtectionRows } from './data.ts';
import { adviceSql, COMMON_RULE, COMMON_RULE_TEXT } from './verdict.ts';

/** What a rule would leave bare, and how those of them that were left bare did. */
export interface RuleSums {
  readonly name: string;
  readonly advice: string;
  /** Cycles that it would leave bare, of which some were. */
  readonly bare: Counted;
  /** Cycles of which it cannot say. */
  readonly unknown: number;
  /** Left bare as it says and graded at the next visit: tender or not. */
  readonly tender: Counted;
}

const PROTECT_ALL: DecisionTable = { rows: [], otherwise: 'protect' };
const PROTECT_NONE: DecisionTable = { rows: [], otherwise: 'bare' };

/** The user's rule beside the common one, where it is another, and beside the two that need no thought. */
export async function ruleSums(
  context: AskContext,
  rule: DecisionTable,
  rows: ProtectionRows,
): Promise<RuleSums[]> {
  const named: { name: string; rule: DecisionTable; rows: ProtectionRows }[] = [
    { name: 'your rule', rule, rows },
  ];
  if (decisionText(rule) !== COMMON_RULE_TEXT) {
    const common = await gatherProtection(context, COMMON_RULE, [], []);
    named.push({ name: 'the common-practice rule', rule: COMMON_RULE, rows: common });
  }
  const as = (place: number): ProtectionRows => ({ ...rows, advice: rows.advice.map(() => place) });
  named.push({ name: 'protect every foot', rule: PROTECT_ALL, rows: as(1) });
  named.push({ name: 'leave every foot bare', rule: PROTECT_NONE, rows: as(0) });
  return named.map(sums);
}

function sums({ name, rule, rows }: { name: string; rule: DecisionTable; rows: ProtectionRows }): RuleSums {
  return {
    name,
    advice: adviceSql(rule),
    bare: agreementOn(rows, 'bare').followed,
    unknown: rows.advice.reduce((sum, place) => sum + (place === 2 ? 1 : 0), 0),
    tender: tenderWhen(rows, 'bare', 'bare').tender,
  };
}
