import { makeTable, numberColumn, textColumn } from '../core/table.ts';
import { type ProblemKey, problemLabel } from '../herd/problems.ts';
import type { Behind, ResultColumn, ResultTable } from './analysis.ts';
import type { Counts } from './format.ts';
import { SHOWN_COUNTS, shownEstimate } from './result-parts.ts';

/** One estimate as the batch command writes it and as pages show it. Null where it is not defined. */
export interface TidyRow {
  readonly problem: ProblemKey | null;
  readonly term: string;
  readonly level: string;
  readonly estimate: number | null;
  readonly stdError: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly unit: string;
  readonly counts: Counts;
  readonly behind: string | null;
  readonly behindTitle: string | null;
  /** Clear or present spells, where those are its rows. */
  readonly spells?: number;
  /** Where its rows are of another relation than the table's. */
  readonly behindRelation?: Behind['relation'];
}

function tidyShown(digits: number): ResultColumn[] {
  const figures = [
    ...shownEstimate('Estimate', digits),
    { name: 'std_error', label: 'Standard error', digits },
  ];
  const [estimate, low, high, error] = figures.map((each) => ({ ...each, share: 'by-unit' as const }));
  return [
    { name: 'term', label: 'Term' },
    { name: 'level', label: 'Level' },
    estimate!,
    error!,
    low!,
    high!,
    { name: 'unit', label: 'Unit' },
    ...SHOWN_COUNTS,
  ];
}

/** The `estimates` table of an analysis: lengths and rates to two digits, shares to three. Problems in words. */
export function tidyTable(
  analysis: string,
  title: string,
  rows: readonly TidyRow[],
  digits = 2,
): ResultTable {
  const hasSpells = rows.some((row) => row.spells !== undefined);
  const spells = { n_spells: numberColumn(rows.map((row) => row.spells)) };
  return {
    name: 'estimates',
    title,
    relation: 'trim_cycle',
    columns: tidyShown(digits),
    table: makeTable({
      analysis: textColumn(rows.map(() => analysis)),
      problem: textColumn(rows.map((row) => row.problem && problemLabel(row.problem))),
      term: textColumn(rows.map((row) => row.term)),
      level: textColumn(rows.map((row) => row.level)),
      estimate: numberColumn(rows.map((row) => row.estimate)),
      std_error: numberColumn(rows.map((row) => row.stdError)),
      conf_low: numberColumn(rows.map((row) => row.low)),
      conf_high: numberColumn(rows.map((row) => row.high)),
      unit: textColumn(rows.map((row) => row.unit)),
      n_horses: numberColumn(rows.map((row) => row.counts.horses)),
      n_feet: numberColumn(rows.map((row) => row.counts.feet)),
      n_cycles: numberColumn(rows.map((row) => row.counts.cycles)),
      ...(hasSpells ? spells : {}),
      behind: textColumn(rows.map((row) => row.behind)),
      behind_title: textColumn(rows.map((row) => row.behindTitle)),
      behind_relation: textColumn(rows.map((row) => row.behindRelation)),
    }),
  };
}
