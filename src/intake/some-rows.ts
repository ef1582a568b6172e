import type { Codes } from './code-list.ts';
import type { BrokenRow, Source } from './source.ts';

/** Of a file only the rows that begin at these lines: what is needed of it where the others are let go of. */
export function onlyLines(source: Source, lines: ReadonlySet<number>): Source {
  const rows: number[] = [];
  for (let row = 0; row < source.rowCount; row++) if (lines.has(source.lines[row]!)) rows.push(row);
  const broken = new Map<number, BrokenRow>();
  rows.forEach((row, k) => {
    const was = source.broken.get(row);
    if (was) broken.set(k, was);
  });
  const columns = source.columns.map((column) => ({ ...column, codes: picked(column.codes, rows) }));
  return {
    ...source,
    columns,
    broken,
    rowCount: rows.length,
    lines: Int32Array.from(rows, (row) => source.lines[row]!),
  };
}

function picked(codes: Codes, rows: readonly number[]): Codes {
  const found = new (codes.constructor as new (length: number) => Codes)(rows.length);
  rows.forEach((row, k) => {
    found[k] = codes[row]!;
  });
  return found;
}
