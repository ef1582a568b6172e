/** A chart made by choosing columns. */
export interface ChartPlan {
  readonly data: string;
  readonly mark: 'dot' | 'line' | 'bar' | 'step';
  readonly x: string;
  readonly y: string;
  readonly by: string | null;
  /** Columns that hold the two ends around the value, where the table has them. */
  readonly ends: { readonly low: string; readonly high: string; readonly along: 'x' | 'y' } | null;
  readonly title: string;
  readonly zero: boolean;
}

const PAIRS = [
  { low: 'conf_low', high: 'conf_high', of: 'estimate' },
  { low: 'quarter_low', high: 'quarter_high', of: 'middle' },
] as const;

/** The ends that belong to a value's column, where a table has both. */
export function endsFor(columns: readonly string[], x: string, y: string): ChartPlan['ends'] {
  const pair = PAIRS.find(({ low, high }) => columns.includes(low) && columns.includes(high));
  if (!pair || (pair.of !== x && pair.of !== y)) return null;
  return { low: pair.low, high: pair.high, along: pair.of === x ? 'x' : 'y' };
}

/** The body of a chart entry. */
export function chartBody(plan: ChartPlan): Record<string, unknown> {
  const { data, mark, x, y, by, ends, title, zero } = plan;
  const split = by ? { by } : {};
  const other = ends?.along === 'x' ? { y } : { x };
  const isBand = mark === 'line' && ends?.along === 'y';
  const around = ends
    ? [
        {
          mark: isBand ? 'band' : 'interval',
          ...other,
          [`${ends.along}1`]: ends.low,
          [`${ends.along}2`]: ends.high,
          ...split,
        },
      ]
    : [];
  return {
    data,
    title: title.trim() || undefined,
    marks: [...around, { mark, x, y, ...split }],
    ...(zero ? { [ends?.along ?? 'y']: { zero: true } } : {}),
    ...(ends?.low === 'quarter_low'
      ? { caption: 'Lines through the marks hold the middle half of the values.' }
      : {}),
  };
}
