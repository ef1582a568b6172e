import { type Cell, cellAt, type Table } from '../core/table.ts';
import type { Amendment } from '../sheet/amendment.ts';
import { countingIds } from '../sheet/history.ts';
import { pickRows } from '../sheet/table-source.ts';
import type { FileBooks } from './herd-service.ts';

/** The books of a file with the rows of it that were mended here: still rows read = admitted + set aside. */
interface MendedBooks extends FileBooks {
  /** Of those admitted. */
  readonly mended: number;
}

/** The books and the rows set aside as a log of amendments leaves them. A row counts as mended once. */
export function mendedBooks(
  books: readonly FileBooks[],
  setAside: Table,
  log: readonly Amendment[],
): { readonly books: MendedBooks[]; readonly setAside: Table } {
  const counting = countingIds(log);
  const mends = new Set(
    log.flatMap(({ id, deed }) =>
      deed.kind === 'add' && deed.mends && counting.has(id)
        ? [placeOf(deed.mends.file, deed.mends.line, deed.mends.foot)]
        : [],
    ),
  );
  const at = (name: string, row: number): Cell =>
    setAside.rowCount > 0 ? cellAt(setAside, name, row) : null;
  const mended = new Map<Cell, string>();
  const left: number[] = [];
  for (let row = 0; row < setAside.rowCount; row += 1) {
    const file = String(at('file', row));
    if (mends.has(placeOf(file, at('line', row), at('foot', row))))
      mended.set(at('set_aside_row', row), file);
    else left.push(row);
  }
  const files = [...mended.values()];
  return {
    books: books.map((book) => {
      const count = book.kind === 'visits' ? files.filter((file) => file === book.file).length : 0;
      return { ...book, admitted: book.admitted + count, setAside: book.setAside - count, mended: count };
    }),
    setAside: mended.size === 0 ? setAside : pickRows(setAside, left),
  };
}

function placeOf(file: string, line: Cell, foot: Cell): string {
  return JSON.stringify([file, line, foot]);
}
