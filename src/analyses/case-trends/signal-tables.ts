import { isUnavailable } from '../../core/outcome.ts';
import { dayColumn, makeTable, numberColumn, textColumn } from '../../core/table.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { ResultTable } from '../analysis.ts';
import type { TrendAnswer } from './answer.ts';
import { monthWords } from './months.ts';

/** Cases first seen in each month against those expected of the same looks, with limits. */
export function chartTable({ options, months, signals: { chart } }: TrendAnswer): ResultTable {
  const rows = isUnavailable(chart) ? [] : chart.months;
  return {
    name: 'chart',
    title: `Cases of ${problemLabel(options.problem)} first seen, against those expected`,
    relation: 'foot_visit',
    columns: [
      { name: 'month', label: 'Month' },
      { name: 'observed', label: 'First seen', digits: 0 },
      { name: 'expected', label: 'Expected', digits: 1 },
      { name: 'low', label: '99.8 % limit from', digits: 1 },
      { name: 'high', label: 'to', digits: 1 },
      { name: 'period', label: 'Months' },
      { name: 'signal', label: 'Signal' },
    ],
    table: makeTable({
      month: dayColumn(rows.map(({ month }) => months.starts[month])),
      observed: numberColumn(rows.map((m) => m.observed)),
      expected: numberColumn(rows.map((m) => m.expected)),
      low: numberColumn(rows.map((m) => m.low)),
      high: numberColumn(rows.map((m) => m.high)),
      period: textColumn(rows.map((m) => (m.isWatched ? 'watched' : 'learned from'))),
      signal: textColumn(
        rows.map((m) => (m.isOutside ? (m.observed > m.high ? 'above its limits' : 'below its limits') : '')),
      ),
    }),
  };
}

/** The running sum over the watched months. */
export function sumTable({ months, signals: { chart } }: TrendAnswer): ResultTable {
  const rows = isUnavailable(chart) ? [] : chart.sum;
  return {
    name: 'running_sum',
    title: 'Running sum of cases beyond those expected',
    relation: 'foot_visit',
    columns: [
      { name: 'month', label: 'Month' },
      { name: 'value', label: 'Running sum', digits: 2 },
      { name: 'alarm_limit', label: 'Limit', digits: 2 },
      { name: 'signal', label: 'Signal' },
    ],
    table: makeTable({
      month: dayColumn(rows.map(({ month }) => months.starts[month])),
      value: numberColumn(rows.map(({ value }) => value)),
      alarm_limit: numberColumn(rows.map(() => (isUnavailable(chart) ? null : chart.limit))),
      signal: textColumn(rows.map(({ passed }) => (passed ? 'passed its limit' : ''))),
    }),
  };
}

/** How much two levels gain over one, by the month in which the second begins. */
export function scanTable({ months, signals: { scan } }: TrendAnswer): ResultTable {
  const rows = isUnavailable(scan)
    ? []
    : Array.from(scan.gain, (gain, month) => ({ gain, month })).filter(({ gain }) => !Number.isNaN(gain));
  return {
    name: 'scan',
    title: 'Where the record parts best in two',
    relation: 'foot_visit',
    columns: [
      { name: 'month', label: 'Second part from' },
      { name: 'gain', label: 'Gain in fit', digits: 2 },
      { name: 'best', label: 'Likeliest' },
    ],
    table: makeTable({
      month: dayColumn(rows.map(({ month }) => months.starts[month])),
      month_text: textColumn(rows.map(({ month }) => monthWords(months, month))),
      gain: numberColumn(rows.map(({ gain }) => gain)),
      best: textColumn(rows.map(({ month }) => (!isUnavailable(scan) && month === scan.month ? 'yes' : ''))),
    }),
  };
}
