import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import {
  booleanColumn,
  codedTextColumn,
  dayColumn,
  makeTable,
  numberColumn,
  textColumn,
} from '../../src/core/table.ts';
import { decodeArrow, encodeArrow, encodeForEngine } from '../../src/engine/arrow.ts';
import { initParquet, readParquet, writeParquet } from '../../src/engine/parquet.ts';

// None, a few, and more than one batch holds.
it.each([0, 3, 200_000])('a table of %i rows comes back from Arrow and from Parquet', async (count) => {
  await initParquet(readFileSync(join(process.cwd(), 'node_modules/parquet-wasm/esm/parquet_wasm_bg.wasm')));
  const rows = Array.from({ length: count }, (_, i) => i);
  const table = makeTable({
    word: textColumn(rows.map((i) => (i % 3 ? `wörd ${i}` : null))),
    mm: numberColumn(rows.map((i) => (i % 5 ? i / 2 : null))),
    day: dayColumn(rows.map((i) => (i % 7 ? i - 50 : null))),
    yes: booleanColumn(rows.map((i) => (i % 2 ? true : i % 3 ? false : null))),
  });
  expect(decodeArrow(encodeArrow(table))).toEqual(table);
  // The engine's own test writes a table without rows; the decoder knows no empty dictionary, nor is handed one.
  if (count > 0) expect(decodeArrow(encodeForEngine(table))).toEqual(table);
  let read = 0;
  for await (const part of readParquet(await writeParquet(table))) read = part.rowsRead;
  expect(read).toBe(count);
});

it('hands over of a long list of texts only those that the piece has', () => {
  const levels = Array.from({ length: 5000 }, (_, i) => `text ${i}`);
  const codes = Int32Array.of(4999, -1, 3, 4999, 0);
  const ipc = encodeForEngine({ rowCount: 5, columns: { note: codedTextColumn(codes, levels) } });
  expect(ipc.length).toBeLessThan(1000);
  expect(decodeArrow(ipc).columns.note?.values).toEqual(['text 4999', null, 'text 3', 'text 4999', 'text 0']);
});
