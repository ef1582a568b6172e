import { isoFromDay } from '../core/civil-day.ts';
import { formatNumber } from '../core/format-value.ts';
import { numbers, texts } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import { quoteName } from '../engine/sql-text.ts';
import { HERD } from '../herd/herd-names.ts';
import { type ColumnSummary, summariseNumbers } from '../sheet/column-summary.ts';
import type { ViewColumn } from '../sheet/view.ts';

interface Asked {
  readonly column: ViewColumn;
  readonly name: string;
  /** The condition of the rows looked at. */
  readonly where: string;
  /** How many values of a text are named, the most frequent first. */
  readonly most: number;
}

/** What a column of the herd's visits holds: how many values, which, and how they are spread. */
export async function columnSummary(
  engine: Engine,
  { column: { type }, name: column, where, most }: Asked,
  signal: AbortSignal,
): Promise<ColumnSummary> {
  const name = quoteName(column);
  const from = `${HERD}.foot_visit_all WHERE ${where}`;
  if (type === 'number' || type === 'day') {
    const table = await engine.query(
      `SELECT ${type === 'day' ? `(${name} - DATE '1970-01-01')` : name}::DOUBLE AS value, count(*)::DOUBLE AS n
       FROM ${from} GROUP BY 1 ORDER BY 1 NULLS LAST`,
      signal,
    );
    const [values, counts] = [numbers(table, 'value'), numbers(table, 'n')];
    const present = Number.isNaN(values.at(-1) ?? 0) ? values.length - 1 : values.length;
    return summariseNumbers(
      column,
      { values: values.subarray(0, present), counts: counts.subarray(0, present) },
      counts[present] ?? 0,
      type === 'day' ? isoFromDay : (value) => formatNumber(value),
    );
  }
  const table = await engine.query(
    `WITH counted AS (SELECT ${name}::VARCHAR AS value, count(*)::DOUBLE AS n FROM ${from} GROUP BY 1)
     SELECT value, n, count(value) OVER () AS different, sum(n) OVER () AS total,
       coalesce(sum(n) FILTER (WHERE value IS NULL) OVER (), 0)::DOUBLE AS missing
     FROM counted ORDER BY value IS NULL, n DESC, value LIMIT ${Math.trunc(most)}`,
    signal,
  );
  const at = (what: string): number => numbers(table, what)[0] ?? 0;
  const values = texts(table, 'value');
  const shown = (value: string): string => (type === 'boolean' ? (value === 'true' ? 'yes' : 'no') : value);
  return {
    column,
    count: at('total') - at('missing'),
    missing: at('missing'),
    distinct: at('different'),
    quantiles: null,
    top: values.flatMap((value, k) =>
      value === null ? [] : [{ value: shown(value), count: numbers(table, 'n')[k]! }],
    ),
    histogram: null,
  };
}
