import { afterAll, beforeAll, expect, it } from 'vitest';
import { texts } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { FOOT_VISIT_DDL, HORSE_DDL, ORIGIN_COLUMNS } from '../../src/herd/ddl.ts';
import { FOOT_VISIT, HORSE_COLUMNS } from '../../src/herd/dictionary.ts';

let engine: Engine;
beforeAll(async () => {
  engine = await openNodeEngine();
});
afterAll(() => engine.close());

it.each([
  ['foot_visit', FOOT_VISIT_DDL, FOOT_VISIT],
  ['horse', HORSE_DDL, HORSE_COLUMNS],
] as const)('%s can be created, its columns in the order of the dictionary', async (name, ddl, described) => {
  await engine.run(ddl);
  const made = await engine.query(
    `SELECT column_name FROM information_schema.columns WHERE table_name = '${name}' ORDER BY ordinal_position`,
  );
  expect(texts(made, 'column_name')).toEqual([...described.map((c) => c.name), ...ORIGIN_COLUMNS]);
});
