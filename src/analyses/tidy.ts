import { makeTable, numberColumn, textColumn } from '../core/table.ts';
import type { ResultColumn, ResultTable } from './analysis.ts';
import type { Counts } from './format.ts';

/** One estimate as the batch command writes it and as pages show it. Null where it is not defined. */
export interface TidyRow {
  readonly problem: string | null;
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
}

export const TIDY_SHOWN: readonly ResultColumn[] = [
  { name: 'term', label: 'Term' },
  { name: 'level', label: 'Level' },
  { name: 'estimate', label: 'Estimate', digits: 2 },
  { name: 'std_error', label: 'Standard error', digits: 2 },
  { name: 'conf_low', label: '95 % from', digits: 2 },
  { name: 'conf_high', label: 'to', digits: 2 },
  { name: 'unit', label: 'Unit' },
  { name: 'n_horses', label: 'Horses', digits: 0 },
  { name: 'n_feet', label: 'Feet', digits: 0 },
  { name: 'n_cycles', label: 'Trim cycles', digits: 0 },
];

/** The `estimates` table of an analysis. */
export function tidyTable(analysis: string, title: string, rows: readonly TidyRow[]): ResultTable {
  return {
    name: 'estimates',
    title,
    relation: 'trim_cycle',
    columns: TIDY_SHOWN,
    table: makeTable({
      analysis: textColumn(rows.map(() => analysis)),
      problem: textColumn(rows.map((row) => row.problem)),
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
      behind: textColumn(rows.map((row) => row.behind)),
      behind_title: textColumn(rows.map((row) => row.behindTitle)),
    }),
  };
}
