import { describe, expect, it } from 'vitest';
import type { ResultTable } from '../../src/analyses/analysis.ts';
import { pageTables } from '../../src/app/page-tables.ts';
import type { Scene } from '../../src/app/scenes.ts';
import { makeTable, numberColumn } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';

const LEFT: Scene = { side: 'left', where: null, version: 1, columns: [] };
const RIGHT: Scene = { ...LEFT, side: 'right' };
const ESTIMATES: ResultTable = {
  name: 'estimates',
  columns: [],
  table: makeTable({ n: numberColumn([1, 2]) }),
} as unknown as ResultTable;

const LEVELS: ResultTable = { ...ESTIMATES, name: 'levels' };

/** An engine that only notes what it is asked. */
function noting(): { readonly engine: Engine; readonly told: string[] } {
  const told: string[] = [];
  const engine = {
    run: async (sql: string) => void told.push(sql),
    write: async (name: string) => void told.push(`write ${name}`),
  } as unknown as Engine;
  return { engine, told };
}

describe('tables of a page', () => {
  it('are not put into the engine while no SQL names them', async () => {
    const { engine, told } = noting();
    const tables = pageTables(engine);
    tables.answered(LEFT, 'seen', [ESTIMATES]);
    await tables.provide(LEFT, "SELECT 'seen' FROM foot_visit -- seen");
    await tables.clear(LEFT, 'seen');
    expect(told).toEqual([]);
  });

  it.each([
    'SELECT * FROM seen.estimates',
    'SELECT * FROM "SEEN".estimates',
    'WITH a AS (FROM Seen.estimates) FROM a',
  ])('are put there before SQL that names them: %s', async (sql) => {
    const { engine, told } = noting();
    const tables = pageTables(engine);
    tables.answered(LEFT, 'seen', [ESTIMATES]);
    await tables.provide(LEFT, sql);
    await tables.provide(LEFT, sql);
    expect(told).toEqual([expect.stringMatching(/CREATE SCHEMA "seen"$/), 'write "seen"."estimates"']);
  });

  it('are not waited for when they are written anew; what went wrong is told to who names them', async () => {
    let isFull = false;
    const write = async (): Promise<void> => {
      if (isFull) throw new Error('no room');
    };
    const tables = pageTables({ run: async () => undefined, write } as unknown as Engine);
    tables.answered(LEFT, 'seen', [ESTIMATES]);
    await tables.provide(LEFT, 'FROM seen.estimates');
    isFull = true;
    tables.answered(LEFT, 'seen', [ESTIMATES]);
    await expect(tables.provide(LEFT, 'FROM seen.estimates')).rejects.toThrow('no room');
    await tables.provide(LEFT, 'FROM foot_visit');
  });

  it('are those of the last answer, at once where SQL has named them before', async () => {
    const { engine, told } = noting();
    const tables = pageTables(engine);
    tables.answered(LEFT, 'seen', [ESTIMATES, LEVELS]);
    await tables.provide(LEFT, 'FROM seen.estimates');
    expect(told).toEqual(['CREATE SCHEMA "seen"', 'write "seen"."estimates"']);
    told.length = 0;
    tables.answered(LEFT, 'seen', [ESTIMATES, LEVELS]);
    expect(told).toEqual(['write "seen"."estimates"']);
    await tables.provide(LEFT, 'FROM seen.estimates, seen.levels');
    expect(told.slice(1)).toEqual(['write "seen"."levels"']);
  });

  it('do not stay where the next answer is without one of them', async () => {
    const { engine, told } = noting();
    const tables = pageTables(engine);
    tables.answered(LEFT, 'seen', [ESTIMATES, LEVELS]);
    await tables.provide(LEFT, 'FROM seen.estimates, seen.levels');
    told.length = 0;
    tables.answered(LEFT, 'seen', [ESTIMATES]);
    expect(told).toEqual([
      expect.stringMatching(/DROP SCHEMA IF EXISTS "seen" CASCADE$/),
      'CREATE SCHEMA "seen"',
      'write "seen"."estimates"',
    ]);
  });

  it('are all put there for SQL that misnames one, so that it is told their names', async () => {
    const { engine, told } = noting();
    const tables = pageTables(engine);
    tables.answered(LEFT, 'seen', [ESTIMATES, LEVELS]);
    await tables.provide(LEFT, 'FROM seen.estimate');
    expect(told.slice(1)).toEqual(['write "seen"."estimates"', 'write "seen"."levels"']);
  });

  it('of one side are not those of the other', async () => {
    const { engine, told } = noting();
    const tables = pageTables(engine);
    tables.answered(LEFT, 'seen', [ESTIMATES]);
    await tables.provide(RIGHT, 'FROM seen.estimates');
    expect(told).toEqual([]);
  });

  it('make way for each other where a query becomes an analysis, and back', async () => {
    const { engine, told } = noting();
    const tables = pageTables(engine);
    await tables.giveWay(LEFT, 'seen');
    tables.answered(LEFT, 'seen', [ESTIMATES]);
    expect(told).toEqual([expect.stringContaining('DROP TABLE IF EXISTS main."seen"')]);
    await tables.provide(LEFT, 'FROM seen.estimates');
    told.length = 0;
    await tables.clear(LEFT, 'seen');
    expect(told).toEqual([expect.stringContaining('DROP SCHEMA IF EXISTS "seen" CASCADE')]);
  });
});
