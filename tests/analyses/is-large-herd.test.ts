import { expect, test } from 'vitest';
import { isLargeHerd } from '../../src/analyses/large-herd.ts';
import { useHerd } from '../../src/analyses/load-herd.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { FOOT_ROW } from '../../src/herd/herd-names.ts';

test('a herd is large by its own rows, whatever else bears their table’s name', async () => {
  const engine = await openNodeEngine();
  await useHerd(engine);
  await engine.run('CREATE TABLE memory.main.foot_row AS SELECT range AS row_no FROM range(1300000)');
  expect(await isLargeHerd(engine)).toBe(false);
  await engine.run(`CREATE TABLE ${FOOT_ROW} AS SELECT range AS row_no FROM range(1000000)`);
  expect(await isLargeHerd(engine)).toBe(false);
  await engine.run(`INSERT INTO ${FOOT_ROW} SELECT range FROM range(300000)`);
  expect(await isLargeHerd(engine)).toBe(true);
  await engine.close();
});
