import type { ColumnDescription } from './column.ts';

/** Text of a limit as people read it. */
function limits(c: ColumnDescription): string {
  const unit = c.unit === 'deg' ? ' degrees' : c.unit ? ` ${c.unit}` : '';
  return `${c.low} to ${c.high}${unit}`;
}

/** What a column accepts, in words, for the reason beside a row set aside. */
export function accepts(c: ColumnDescription): string {
  switch (c.kind) {
    case 'text':
      return 'text';
    case 'day':
      return 'a date from 1980 to today, such as 2026-03-09';
    case 'boolean':
      return 'yes or no';
    case 'level':
      return (c.levels ?? []).join(', ');
    case 'grade':
      return '0 none, 1 slight, 2 moderate, 3 severe';
    case 'year':
      return `a year, ${limits(c)}`;
    default:
      return limits(c);
  }
}
