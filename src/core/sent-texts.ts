import { type CodedTexts, type Column, codedOf, type Table, type TextColumn } from './table.ts';

/**
 * Texts that go from thread to thread as their codes and distinct texts, each of these once: a list of the texts row by row
 * is no part of what is sent. Whoever receives such a column has `withTexts` give it back. Columns that share their codes
 * or their distinct texts share them there as well.
 */
export function sentTextColumn({ codes, levels }: CodedTexts): TextColumn {
  let written: readonly (string | null)[] | null = null;
  const column = { type: 'text' as const, coded: { codes, levels } };
  // What cannot be enumerated is not copied.
  Object.defineProperty(column, 'values', {
    get() {
      written ??= Array.from(codes, (code) => levels[code] ?? null);
      return written;
    },
  });
  return column as unknown as TextColumn;
}

/** The same of texts as they stand, most of which are met again and again. */
export const repeatedTexts = (values: readonly (string | null)[]): TextColumn =>
  sentTextColumn(codedOf({ type: 'text', values }));

/** A table as it was before it was sent. */
export function withTexts(table: Table): Table {
  const columns = Object.entries(table.columns).map(([name, column]): [string, Column] => [
    name,
    column.type === 'text' && column.coded && !Object.hasOwn(column, 'values')
      ? sentTextColumn(column.coded)
      : column,
  ]);
  return { ...table, columns: Object.fromEntries(columns) };
}
