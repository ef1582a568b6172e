import { afterAll, beforeAll, expect, test } from 'vitest';
import { ahead } from '../../src/analyses/ahead.ts';
import { recordedGroupings } from '../../src/analyses/recorded.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';

let engine: Engine;
beforeAll(async () => {
  engine = await openNodeEngine();
  await engine.run(`CREATE TABLE trim_cycle AS SELECT * FROM (VALUES
    ('a', 'pony', 'soft', NULL), ('a', 'pony', NULL, NULL), ('b', NULL, 'firm', NULL),
    ('b', NULL, NULL, NULL), ('c', 'draft', 'firm', NULL), ('c', 'draft', 'wet', NULL)
  ) v(horse_id, breed_type, terrain, moisture)`);
});
afterAll(() => engine.close());

const of = (asked: readonly string[], where = 'TRUE') =>
  recordedGroupings({ engine, signal: new AbortController().signal }, 'trim_cycle', where, asked);

test('rows that lack one of the groupings are counted, with their horses', async () => {
  const { kept, notes, leftOut } = await of(['breed_type', 'terrain']);
  expect(kept).toEqual(['breed_type', 'terrain']);
  expect(notes).toEqual([]);
  expect(leftOut.map(({ sentence }) => sentence)).toEqual([
    '3 trim cycles of 2 horses that lack one of breed type and ground could not take part in this comparison.',
  ]);
});

test('a grouping that no row has is dropped, and no row is left out for it', async () => {
  const { kept, notes, leftOut } = await of(['moisture', 'terrain']);
  expect(kept).toEqual(['terrain']);
  expect(notes).toHaveLength(1);
  expect(leftOut.map(({ sentence }) => sentence)).toEqual([
    '2 trim cycles of 2 horses without ground could not take part in this comparison.',
  ]);
});

test('the rows opened behind the sentence are those that it counts', async () => {
  const { leftOut } = await of(['breed_type', 'terrain'], "horse_id <> 'a'");
  const behind = leftOut[0]!.behind!;
  const { rowCount } = await engine.query(`SELECT * FROM trim_cycle WHERE ${behind.where}`);
  expect([rowCount, leftOut[0]!.sentence.startsWith('2 trim cycles of 1 horse ')]).toEqual([2, true]);
});

test('nothing is said where all rows have all groupings', async () => {
  expect((await of(['breed_type', 'terrain'], "horse_id = 'c'")).leftOut).toEqual([]);
});

test('what is wanted later is asked for at once of an engine that works ahead, and else when it is wanted', async () => {
  const begun: string[] = [];
  const ask = (name: string) => async () => {
    begun.push(name);
    return name;
  };
  const now = ahead({ engine: { ...engine, worksAhead: true } }, ask('ahead'));
  const later = ahead({ engine }, ask('later'));
  expect(begun).toEqual(['ahead']);
  expect([await now(), await later()]).toEqual(['ahead', 'later']);
  const failing = ahead({ engine: { ...engine, worksAhead: true } }, async () => {
    throw new Error('no such column');
  });
  await expect(failing()).rejects.toThrow('no such column');
});
