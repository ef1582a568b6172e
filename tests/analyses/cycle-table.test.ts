import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { cycleTable, groupAsk, holdsAsk, markAsk, numberAsk } from '../../src/analyses/cycle-table.ts';
import { makeMemory } from '../../src/analyses/memory.ts';
import { rowsOf } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { CYCLE_ROW } from '../../src/herd/herd-names.ts';

let engine: Engine;
beforeAll(async () => {
  engine = await openNodeEngine();
  await engine.run("ATTACH ':memory:' AS herd_record");
  // Two horses; the foot H10 LF has the smallest number, and its rows are kept out of order.
  await engine.run(`CREATE TABLE ${CYCLE_ROW} AS SELECT * FROM (VALUES
    (9, 4, 'H10', 'H10 LF', 2, 40.0, 'firm', TRUE, NULL),
    (4, 4, 'H10', 'H10 LF', 1, 35.0, 'soft', FALSE, NULL),
    (5, 5, 'H2', 'H2 LF', 1, 42.0, NULL, NULL, NULL),
    (7, 5, 'H2', 'H2 LF', 2, NULL, 'rocky', FALSE, 'over 365 days'),
    (8, 6, 'H2', 'H2 RF', 1, 28.0, 'firm', TRUE, NULL)
  ) v(row_no, foot_no, horse_id, foot_key, cycle_number, days, terrain, crack_start, flag)`);
  await engine.run(`CREATE VIEW cohort_cycle AS SELECT * FROM ${CYCLE_ROW};
    CREATE VIEW cohort_cycle_no AS SELECT * FROM ${CYCLE_ROW}`);
});
afterAll(() => engine.close());

const context = (of: Engine = engine) => ({
  engine: of,
  signal: new AbortController().signal,
  remember: makeMemory().over('').remember,
});
const ASK = {
  columns: { days: numberAsk('days'), 'by terrain': groupAsk('terrain'), crack: markAsk('crack_start') },
  where: ['flag IS NULL', 'days IS NOT NULL'],
};
const CHOSEN = [
  { horse_id: 'H10', foot_key: 'H10 LF', days: 35, 'by terrain': 'soft', crack: 0 },
  { horse_id: 'H10', foot_key: 'H10 LF', days: 40, 'by terrain': 'firm', crack: 1 },
  { horse_id: 'H2', foot_key: 'H2 LF', days: 42, 'by terrain': null, crack: null },
  { horse_id: 'H2', foot_key: 'H2 RF', days: 28, 'by terrain': 'firm', crack: 1 },
];

/** The same engine, telling what it was asked, and what becomes of each statement. */
function listening(asked: string[], become: (sql: string) => string = (sql) => sql): Engine {
  return {
    ...engine,
    query: (sql, signal) => {
      asked.push(sql);
      return engine.query(become(sql), signal);
    },
  };
}

describe('trim cycles from columns of the cohort', () => {
  test('are those for which every condition holds, by foot and cycle', async () => {
    expect(rowsOf(await cycleTable(context(), ASK))).toEqual(CHOSEN);
  });

  test('take their columns from what remembers these by themselves, where there is such', async () => {
    const asked: string[] = [];
    const kept: string[] = [];
    const columns = makeMemory().over('columns').remember;
    const given = {
      ...context(listening(asked)),
      remember: <T>(key: string, make: () => Promise<T>): Promise<T> => {
        kept.push(key);
        return make();
      },
      rememberColumns: columns,
    };
    await cycleTable(given, ASK);
    const once = asked.length;
    expect(rowsOf(await cycleTable(given, ASK))).toEqual(CHOSEN);
    expect([asked.length, kept]).toEqual([once, []]);
  });

  test('have only the levels and feet that the rows left have', async () => {
    const table = await cycleTable(context(), { ...ASK, where: ["terrain = 'firm'"] });
    const levels = (name: string) => {
      const column = table.columns[name];
      return column?.type === 'text' ? column.coded!.levels : null;
    };
    expect([levels('by terrain'), levels('foot_key')]).toEqual([['firm'], ['H10 LF', 'H2 RF']]);
  });

  test('are none, and not an error, where the cohort is empty or nothing passes', async () => {
    expect((await cycleTable(context(), { ...ASK, where: ['FALSE'] })).rowCount).toBe(0);
    const empty = listening([], (sql) => sql.replace(/FROM cohort_cycle$/, 'FROM cohort_cycle WHERE FALSE'));
    expect((await cycleTable(context(empty), ASK)).rowCount).toBe(0);
  });

  test('take each column out of the engine once', async () => {
    const asked: string[] = [];
    const same = context(listening(asked));
    await cycleTable(same, ASK);
    expect(asked).toHaveLength(3);
    await Promise.all([cycleTable(same, ASK), cycleTable(same, { ...ASK, where: ['flag IS NULL'] })]);
    expect(asked).toHaveLength(3);
    await cycleTable(same, { ...ASK, columns: { ...ASK.columns, long: holdsAsk('days > 40') } });
    expect(asked.at(-1)).toBe(
      'SELECT row_no, (coalesce((days > 40), FALSE))::TINYINT AS c0 FROM cohort_cycle',
    );
  });

  test('are chosen from the whole herd’s where these may be kept: another cohort asks for the numbers of its rows', async () => {
    const asked: string[] = [];
    const herd = makeMemory();
    const cohort = (where: string, name: string) => {
      const narrowed = (sql: string) => sql.replace(/FROM cohort_cycle_no$/, `$& WHERE ${where}`);
      const one = context(listening(asked, narrowed));
      return { ...one, remember: herd.over(name).remember, rememberHerd: herd.over('').remember };
    };
    await engine.run(`CREATE OR REPLACE VIEW trim_cycle_all AS SELECT * FROM ${CYCLE_ROW}`);
    expect(rowsOf(await cycleTable(cohort('TRUE', 'all'), ASK))).toEqual(CHOSEN);
    const firm = cohort("terrain = 'firm'", 'firm');
    asked.length = 0;
    expect(rowsOf(await cycleTable(firm, ASK))).toEqual(CHOSEN.filter((row) => row['by terrain'] === 'firm'));
    expect(asked).toEqual(['SELECT row_no FROM cohort_cycle_no']);
    await cycleTable(firm, { ...ASK, where: [] });
    expect(asked).toHaveLength(1);
    expect((await cycleTable(cohort('FALSE', 'none'), ASK)).rowCount).toBe(0);
  });

  test('are put together by their numbers where a statement gives them in another order', async () => {
    const turned = listening([], (sql) => (/AS c0/.test(sql) ? `${sql} ORDER BY row_no DESC` : sql));
    expect(rowsOf(await cycleTable(context(turned), ASK))).toEqual(CHOSEN);
  });

  test('keep a level that the vocabulary does not have', async () => {
    await engine.run(`UPDATE ${CYCLE_ROW} SET terrain = 'sand' WHERE row_no = 8`);
    const table = await cycleTable(context(), ASK);
    await engine.run(`UPDATE ${CYCLE_ROW} SET terrain = 'firm' WHERE row_no = 8`);
    expect(rowsOf(table).map((row) => row['by terrain'])).toEqual(['soft', 'firm', null, 'sand']);
  });

  test('a column that fails is asked for again by the next', async () => {
    const same = context();
    await expect(
      cycleTable(same, { columns: { no: numberAsk('no_such_column') }, where: [] }),
    ).rejects.toThrow('no_such_column');
    expect(rowsOf(await cycleTable(same, ASK))).toEqual(CHOSEN);
  });
});
