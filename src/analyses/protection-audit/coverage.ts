import { makeTable, textColumn } from '../../core/table.ts';
import type { ResultTable } from '../analysis.ts';
import type { Counts } from '../format.ts';
import { allOf, countRows } from '../groups.ts';
import { behindColumns, countColumns, SHOWN_COUNTS } from '../result-parts.ts';
import { AUDITED, GRADED, isAdvice, type ProtectionRows } from './data.ts';

interface Covered {
  readonly what: string;
  readonly counts: Counts;
  readonly where: string;
}

/** How far the record reaches: cycles that take part, and those that cannot. */
export interface Coverage {
  readonly audited: Covered;
  readonly unknown: Covered;
  readonly notGraded: Covered;
  readonly notAlike: Covered;
}

export function coverageOf(rows: ProtectionRows, advice: string, stratum: string): Coverage {
  const count = (keep: (row: number) => boolean): Counts => countRows(rows.horse, rows.foot, keep);
  return {
    audited: {
      what: 'what the foot left in is recorded',
      counts: count(() => true),
      where: AUDITED,
    },
    unknown: {
      what: 'too little recorded for the rule to say',
      counts: count((row) => rows.advice[row] === 2),
      where: allOf(AUDITED, isAdvice(advice, 'unknown')),
    },
    notGraded: {
      what: 'tenderness not graded at the next visit',
      counts: count((row) => rows.tender[row]! < 0),
      where: allOf(AUDITED, `NOT (${GRADED})`),
    },
    notAlike: {
      what: 'graded, but too little recorded to say which feet are alike',
      counts: count((row) => rows.tender[row]! >= 0 && rows.stratum[row]! < 0),
      where: allOf(AUDITED, GRADED, `${stratum} IS NULL`),
    },
  };
}

export function coverageTable(coverage: Coverage): ResultTable {
  const rows = Object.values(coverage).filter(({ counts }: Covered) => counts.cycles > 0) as Covered[];
  return {
    name: 'coverage',
    title: 'How far the record reaches',
    relation: 'trim_cycle',
    columns: [{ name: 'what', label: 'Trim cycles' }, ...SHOWN_COUNTS],
    table: makeTable({
      what: textColumn(rows.map(({ what }) => what)),
      ...countColumns(rows.map(({ counts }) => counts)),
      ...behindColumns(rows.map(({ what, where }) => ({ where, title: what }))),
    }),
  };
}
