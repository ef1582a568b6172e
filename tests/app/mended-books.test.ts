import { describe, expect, test } from 'vitest';
import type { FileBooks } from '../../src/app/herd-service.ts';
import { mendedBooks } from '../../src/app/mended-books.ts';
import { makeTable, numberColumn, textColumn, texts } from '../../src/core/table.ts';
import type { Amendment, Deed } from '../../src/sheet/amendment.ts';

const BOOKS: FileBooks[] = [
  { file: 'a.csv', kind: 'visits', sourceRows: 9, rowsRead: 10, admitted: 7, setAside: 3, emptyFeet: 0 },
  { file: 'b.csv', kind: 'visits', sourceRows: 4, rowsRead: 4, admitted: 3, setAside: 1, emptyFeet: 0 },
];
// Row 1 has two faults; rows 1 and 2 stand on one line, a foot each; row 3 made no foot row.
const SET_ASIDE = makeTable({
  set_aside_row: numberColumn([1, 1, 2, 3, 4]),
  file: textColumn(['a.csv', 'a.csv', 'a.csv', 'a.csv', 'b.csv']),
  line: numberColumn([5, 5, 5, 7, 5]),
  foot: textColumn(['LF', 'LF', 'RF', null, 'LF']),
  reason: textColumn(['one', 'two', 'three', 'four', 'five']),
});
const amend = (id: string, deed: Deed): Amendment => ({
  id,
  at: '2026-06-01T10:00:00Z',
  batch: id,
  by: null,
  reason: null,
  deed,
});
const mend = (id: string, line: number, foot: string | null): Amendment =>
  amend(id, { kind: 'add', row: id, values: {}, mends: { file: 'a.csv', line, foot } });

describe('books with mended rows', () => {
  test('count a mended row admitted, once, and leave the others set aside', () => {
    const { books, setAside } = mendedBooks(BOOKS, SET_ASIDE, [mend('x', 5, 'LF')]);
    expect(books[0]).toMatchObject({ rowsRead: 10, admitted: 8, setAside: 2, mended: 1 });
    expect(books[1]).toMatchObject({ admitted: 3, setAside: 1, mended: 0 });
    expect(texts(setAside, 'reason')).toEqual(['three', 'four', 'five']);
  });

  test('count a row that became several feet once', () => {
    const { books } = mendedBooks(BOOKS, SET_ASIDE, [mend('x', 7, null), mend('y', 7, null)]);
    expect(books[0]).toMatchObject({ admitted: 8, setAside: 2, mended: 1 });
  });

  test('set it aside again once the mending is undone', () => {
    const log = [mend('x', 5, 'LF'), amend('u', { kind: 'undo', of: ['x'] })];
    const { books, setAside } = mendedBooks(BOOKS, SET_ASIDE, log);
    expect(books[0]).toMatchObject({ admitted: 7, setAside: 3, mended: 0 });
    expect(setAside.rowCount).toBe(5);
  });
});
