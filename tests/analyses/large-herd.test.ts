import { afterAll, beforeAll, expect, it } from 'vitest';
import { compressing, cyclesSql, uncompressedRows } from '../../src/analyses/large-herd.ts';
import { loadHerd } from '../../src/analyses/load-herd.ts';
import { rowsOf } from '../../src/core/table.ts';
import { piecesOf } from '../../src/core/table-pieces.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { footRows } from '../../src/herd/foot-rows.ts';
import { FOOT_ROW } from '../../src/herd/herd-names.ts';
import { NO_HORSES, visitTable } from '../herd-fixture.ts';

let engine: Engine;
beforeAll(async () => {
  engine = await openNodeEngine();
});
afterAll(() => engine.close());

const NORTH = { hemisphere: 'north' } as const;
const HORSES = ["A'1", 'B', 'b', 'Ä', '𝔸'];
const VISITS = HORSES.flatMap((horse_id) =>
  ['2025-01-01', '2025-02-12', '2025-03-26'].flatMap((visit_date) =>
    ['LF', 'RF', 'LH', 'RH'].map((foot) => ({
      horse_id,
      foot,
      visit_date,
      toe_before_mm: 90,
      toe_after_mm: 80,
    })),
  ),
);

const cycles = async () => rowsOf(await engine.query('SELECT * FROM trim_cycle_all ORDER BY row_no'));

it.each([
  [1, 1],
  [7, 7],
  [12, 24],
  [13, 30],
  [13, 60],
  [59, 59],
  [60, 60],
])(
  'a herd built %i rows at a time, and compressed each %i, is the same as one built at once',
  async (sliceRows, rowsAtOnce) => {
    await loadHerd(engine, { visits: visitTable(VISITS), horses: NO_HORSES }, NORTH);
    const atOnce = await cycles();
    expect(atOnce).toHaveLength(HORSES.length * 8);
    for (const sql of await cyclesSql(engine, NORTH, VISITS.length, { sliceRows, rowsAtOnce }))
      await engine.run(sql);
    expect(await cycles()).toEqual(atOnce);
  },
);

it('rows compressed on their way are all there', async () => {
  await loadHerd(engine, { visits: visitTable(VISITS), horses: NO_HORSES }, NORTH);
  const stored = async () => rowsOf(await engine.query(`SELECT * FROM ${FOOT_ROW} ORDER BY row_no`));
  const before = await stored();
  const whole = [...footRows(piecesOf(visitTable(VISITS)), NO_HORSES)][0]!;
  const parts = [0, 20, 40].map((from) => piecesOf(whole).piece(from, from + 20));
  await engine.fill('foot_row', compressing(engine, 15)(parts));
  const after = await stored();
  expect(after).toHaveLength(60);
  expect(after.map(({ row_no }) => row_no)).toEqual(before.map(({ row_no }) => row_no));
});

it.each([
  [1_250_000, 0],
  [1_250_001, 2],
])(
  'of a herd of %i rows what stands is compressed %i times while the last rows come',
  async (rowCount, times) => {
    const sent: string[] = [];
    const told: Engine = { ...engine, run: async (sql) => void sent.push(sql) };
    const empty = piecesOf(visitTable([])).piece(0, 0);
    const pieces = Array.from({ length: 6 }, () => ({ ...empty, rowCount: 245_000 }));
    let passed = 0;
    for await (const piece of compressing(told, uncompressedRows(rowCount))(pieces)) passed += piece.rowCount;
    expect(passed).toBe(6 * 245_000);
    expect(sent).toEqual(Array(times).fill('CHECKPOINT herd_record'));
  },
);
