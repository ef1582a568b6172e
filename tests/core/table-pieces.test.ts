import { afterAll, beforeAll, expect, it } from 'vitest';
import {
  codedBooleanColumn,
  codedNumberColumn,
  rowsOf,
  type Table,
  textColumnByCode,
  wholeColumn,
} from '../../src/core/table.ts';
import { piecesOf, reorder } from '../../src/core/table-pieces.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';

let engine: Engine;
beforeAll(async () => {
  engine = await openNodeEngine();
});
afterAll(() => engine.close());

async function takenIn(table: Table) {
  await engine.fill('taken', [table]);
  return rowsOf(await engine.query('SELECT * FROM taken ORDER BY rowid'));
}

const codes = Uint8Array.of(0, 1, 2, 1, 0);
const table: Table = {
  rowCount: 5,
  columns: {
    mm: codedNumberColumn('number', { codes, levels: Float64Array.of(1.5, Number.NaN, 2) }),
    grade: codedNumberColumn('number', { codes, levels: Float64Array.of(3, 2, 1) }, true),
    day: codedNumberColumn('day', { codes, levels: Float64Array.of(20_000, 1, Number.NaN) }),
    yes: codedBooleanColumn({ codes, levels: [null, true, false] }),
    word: textColumnByCode({ codes, levels: ['a', null, 'b'] }, ['a', 'b'], () =>
      Int32Array.of(0, -1, 1, -1, 0),
    ),
    line: wholeColumn(Int32Array.of(9, 8, 7, 6, 5)),
  },
};

// What the engine is given is made from codes where a column has them: those of another piece would be another's rows.
it('gives a piece of a table the codes of its own rows', async () => {
  const rows = rowsOf(table);
  const piece = piecesOf(table).piece(2, 5);
  expect(rowsOf(piece)).toEqual(rows.slice(2));
  expect(await takenIn(piece)).toEqual(rows.slice(2));
});

it('puts the codes of rows in another order with them', async () => {
  const rows = rowsOf(table);
  const order = [4, 2, 0, 1, 3];
  const reordered = reorder(table, Int32Array.from(order));
  expect(rowsOf(reordered)).toEqual(order.map((row) => rows[row]));
  expect(await takenIn(reordered)).toEqual(order.map((row) => rows[row]));
});
