import { readFileSync } from 'node:fs';
import { beforeAll, describe, expect, it } from 'vitest';
import { loadHerd, setToday } from '../../src/analyses/load-herd.ts';
import type { TakenTable } from '../../src/app/herd-service.ts';
import { pageDesk } from '../../src/app/page-desk.ts';
import type { CallContext } from '../../src/app/rpc.ts';
import { makeScenes, type Scene } from '../../src/app/scenes.ts';
import type { CivilDay } from '../../src/core/civil-day.ts';
import { dayColumn, makeTable, numberColumn, numbers, textColumn, texts } from '../../src/core/table.ts';
import { decodeArrow } from '../../src/engine/arrow.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { initParquet, readParquet } from '../../src/engine/parquet.ts';
import { FOOT_ROW } from '../../src/herd/herd-names.ts';
import { mayCall } from '../../src/pages/table-functions.ts';

const TODAY = 20_000 as CivilDay;
const CONTEXT: CallContext = { signal: new AbortController().signal, progress: () => undefined };
const LEFT: Scene = { side: 'left', where: null, version: 1, columns: [] };
const RIGHT: Scene = { side: 'right', where: "breed_type = 'pony'", version: 1, columns: [] };

let engine: Engine;
let scenes: ReturnType<typeof makeScenes>;
let desk: ReturnType<typeof pageDesk>;

/** Two horses: a draft seen five times, a pony seen three times. */
const VISITS = [
  ...Array.from({ length: 5 }, (_, k) => ['D1', 19_700 + 40 * k, 95 + k] as const),
  ...Array.from({ length: 3 }, (_, k) => ['P1', 19_710 + 50 * k, 70 + k] as const),
];

beforeAll(async () => {
  engine = await openNodeEngine();
  const wasm = new URL('../../node_modules/parquet-wasm/esm/parquet_wasm_bg.wasm', import.meta.url);
  await initParquet(readFileSync(wasm));
  const visits = makeTable({
    horse_id: textColumn(VISITS.map(([horse]) => horse)),
    visit_date: dayColumn(VISITS.map(([, day]) => day)),
    foot: textColumn(VISITS.map(() => 'LF')),
    breed_type: textColumn(VISITS.map(([horse]) => (horse === 'D1' ? 'draft' : 'pony'))),
    toe_before_mm: numberColumn(VISITS.map(([, , toe]) => toe)),
    toe_after_mm: numberColumn(VISITS.map(([, , toe]) => toe - 8)),
    notes: textColumn(VISITS.map((_, k) => (k === 0 ? '=HYPERLINK("http://x")' : k === 1 ? '-note' : null))),
    source_file: textColumn(VISITS.map(() => 'a.csv')),
    source_line: numberColumn(VISITS.map((_, k) => k + 2)),
  });
  await loadHerd(
    engine,
    { visits, horses: makeTable({ horse_id: textColumn([]) }) },
    { hemisphere: 'north' },
  );
  await setToday(engine, TODAY);
  scenes = makeScenes(engine);
  desk = pageDesk(engine, TODAY, scenes);
});

const run = (scene: Scene, name: string, sql: string) =>
  desk.runQuery({ scene, name, sql, params: {} }, CONTEXT);
const ask = async (scene: Scene, sql: string) => numbers(await run(scene, 'asked', sql), 'n')[0];

describe('a query of a page', () => {
  it('is refused where it gives more text than a tab can hold, and the next one runs', async () => {
    await expect(run(LEFT, 'huge', "SELECT 1 AS a, repeat('x', 20000000) AS b")).rejects.toThrow(
      'less than 16 MB of text to show: 20 MB',
    );
    await expect(run(LEFT, 'many', "SELECT repeat('x', 2000) AS b FROM range(10000)")).rejects.toThrow(
      '20 MB',
    );
    const most = await run(LEFT, 'most', "SELECT repeat('x', 1000000) AS b FROM range(15)");
    expect(most.rowCount).toBe(15);
    // Measured as texts, its numbers would be over the limit.
    const just = await run(
      LEFT,
      'just',
      "SELECT 1e-300 + i AS a, repeat('x', 15999000) AS b FROM range(1) r(i)",
    );
    expect(just.rowCount).toBe(1);
  });

  it.each([0, 1, 1024, 1025, 20_001])(
    'gives its rows in their order, 20,000 at most: of %d',
    async (rows) => {
      const sql = `SELECT i AS n, NULL AS nothing, 'x' || i AS "every ""thing" FROM range(${rows}) r(i) ORDER BY i DESC`;
      const table = await run(LEFT, 'rows', sql);
      const n = Math.min(rows, 20_000);
      expect(numbers(table, 'n')).toEqual(Float64Array.from({ length: n }, (_, k) => rows - 1 - k));
      expect(texts(table, 'every "thing')[0] ?? null).toBe(rows > 0 ? `x${rows - 1}` : null);
    },
  );

  it('leaves nothing of its last result where it cannot be any more, and says why about the SQL as it is', async () => {
    const sql = 'SELECT n FROM other';
    await run(LEFT, 'other', 'SELECT 3 AS n');
    expect(numbers(await run(LEFT, 'reader', sql), 'n')[0]).toBe(3);
    await desk.dropEntry({ scene: LEFT, name: 'other' }, CONTEXT);
    const told = await run(LEFT, 'reader', sql).catch((error: Error) => error.message);
    expect(told).toMatch(/Table with name other does not exist/);
    expect(told).not.toMatch(/CREATE/);
    await expect(run(LEFT, 'after', 'SELECT * FROM reader')).rejects.toThrow(/reader does not exist/);
  });

  it('stops where it is called off, and what stood before it is gone', async () => {
    const stopper = new AbortController();
    // The engine of Node cannot be called off within a statement: here it is before one is begun.
    const calledOff: Engine = {
      ...engine,
      async query(sql, signal) {
        if (sql.includes('never_done')) stopper.abort(new Error('called off'));
        signal?.throwIfAborted();
        return engine.query(sql, signal);
      },
    };
    const other = pageDesk(calledOff, TODAY, scenes);
    const long = (sql: string) =>
      other.runQuery({ scene: LEFT, name: 'long', sql, params: {} }, { ...CONTEXT, signal: stopper.signal });
    expect((await long('SELECT 1 AS n')).rowCount).toBe(1);
    await expect(long('SELECT 1 AS never_done')).rejects.toThrow('called off');
    await expect(run(LEFT, 'after', 'SELECT * FROM long')).rejects.toThrow(/long does not exist/);
  });
});

describe('scenes', () => {
  it('show each side its own cohort under the same names, also while both compute at once', async () => {
    const counts = await Promise.all(
      [LEFT, RIGHT, LEFT, RIGHT, RIGHT, LEFT].map((scene, k) =>
        run(scene, `q${k}`, 'SELECT count(*) AS n, (SELECT count(*) FROM trim_cycle) AS c FROM foot_visit'),
      ),
    );
    expect(counts.map((table) => numbers(table, 'n')[0])).toEqual([8, 3, 8, 3, 3, 8]);
    expect(counts.map((table) => numbers(table, 'c')[0])).toEqual([6, 2, 6, 2, 2, 6]);
  });

  it('keep what each side made under one name apart', async () => {
    await run(LEFT, 'seen', 'SELECT count(*) AS n FROM foot_visit');
    await run(RIGHT, 'seen', 'SELECT count(*) AS n FROM foot_visit');
    expect(await ask(LEFT, 'SELECT n FROM seen')).toBe(8);
    expect(await ask(RIGHT, 'SELECT n FROM seen')).toBe(3);
  });

  it('follow the shell’s cohort on the left, and keep their own on the right', async () => {
    await desk.setCohort("horse_id = 'D1'", CONTEXT);
    expect(await ask({ ...LEFT, version: 2 }, 'SELECT count(*) AS n FROM foot_visit')).toBe(5);
    expect(await ask({ ...RIGHT, version: 2 }, 'SELECT count(*) AS n FROM foot_visit')).toBe(3);
    await desk.setCohort('TRUE', CONTEXT);
    expect(await ask({ ...LEFT, version: 3 }, 'SELECT count(*) AS n FROM foot_visit')).toBe(8);
  });

  it('count what the cohort that was set last holds, also while a page asks of it', async () => {
    await desk.setCohort("horse_id = 'D1'", CONTEXT);
    const asked = ask({ ...LEFT, version: 4 }, 'SELECT count(*) AS n FROM foot_visit');
    expect(await desk.countCohort(null, CONTEXT)).toMatchObject({ horses: 1, footVisits: 5 });
    expect(await asked).toBe(5);
    await desk.setCohort('TRUE', CONTEXT);
    expect(await desk.countCohort(null, CONTEXT)).toMatchObject({ horses: 2, footVisits: 8 });
  });

  it('count the rows behind a figure in the scene it was computed in', async () => {
    const behind = { relation: 'foot_visit', where: 'toe_before_mm > 0', title: 't' } as const;
    expect(await desk.countRows({ ...behind, scene: LEFT }, CONTEXT)).toBe(8);
    expect(await desk.countRows({ ...behind, scene: RIGHT }, CONTEXT)).toBe(3);
    expect(await desk.countRows(behind, CONTEXT)).toBe(8);
  });

  it('run an analysis over the side’s cohort', async () => {
    const of = async (scene: Scene) =>
      (await desk.runAnalysis({ scene, name: 'shares', use: 'prevalence', options: {} }, CONTEXT)).counts
        .horses;
    expect(await of(RIGHT)).toBeLessThanOrEqual(1);
    expect(await of(LEFT)).toBeLessThanOrEqual(2);
  });

  it('give a page its derived columns, one over another, and nobody else', async () => {
    const cut = { name: 'cut_mm', on: 'foot_visit', expression: 'toe_before_mm - toe_after_mm' } as const;
    const half = { name: 'half', on: 'foot_visit', expression: 'cut_mm / 2' } as const;
    await desk.checkColumn({ ...LEFT, columns: [cut] }, CONTEXT);
    await desk.checkColumn({ ...LEFT, columns: [cut, half] }, CONTEXT);
    expect(await ask({ ...LEFT, columns: [cut, half] }, 'SELECT max(half) AS n FROM foot_visit')).toBe(4);
    expect(await ask({ ...RIGHT, columns: [cut, half] }, 'SELECT max(half) AS n FROM foot_visit')).toBe(4);
    await expect(ask(LEFT, 'SELECT max(half) AS n FROM foot_visit')).rejects.toThrow('half');
  });

  it('let an analysis split by a page’s derived column', async () => {
    const size = {
      name: 'size',
      on: 'foot_visit',
      expression: "CASE WHEN toe_before_mm > 80 THEN 'large' ELSE 'small' END",
    } as const;
    const scene = { ...LEFT, columns: [size] };
    await engine.run(`UPDATE ${FOOT_ROW} SET separation_grade = 1`);
    const options = { problems: ['separation'], by: 'size', at: 'every' };
    const result = await desk.runAnalysis({ scene, name: 'split', use: 'prevalence', options }, CONTEXT);
    const said = [
      ...texts(result.tables[1]!.table, 'level'),
      ...result.unavailable.map(({ sentence }) => sentence),
    ].join(' ');
    expect(said).toMatch(/large|small/);
    await engine.run(`UPDATE ${FOOT_ROW} SET separation_grade = NULL`);
  });

  it('refuse a derived column that is no expression, is there already, or does more than compute', async () => {
    const check = (expression: string, name = 'x') =>
      desk.checkColumn({ ...LEFT, columns: [{ name, on: 'foot_visit', expression }] }, CONTEXT);
    await expect(check('toe_before_mm +')).rejects.toThrow();
    await expect(check('nowhere_mm')).rejects.toThrow('nowhere_mm');
    await expect(check('1', 'TOE_before_mm')).rejects.toThrow('already');
    await expect(
      check('1) FROM foot_visit; DROP TABLE herd_record.main.foot_row; SELECT (1'),
    ).rejects.toThrow();
    await expect(check('1) AS y, (2')).rejects.toThrow('expression must');
    await expect(check("(SELECT count(*) FROM read_text('/etc/passwd'))")).rejects.toThrow('read_text');
  });

  it('drop what an entry kept', async () => {
    await run(LEFT, 'gone', 'SELECT 1 AS n');
    await desk.dropEntry({ scene: LEFT, name: 'gone' }, CONTEXT);
    await expect(ask(LEFT, 'SELECT n FROM gone')).rejects.toThrow('gone');
  });
});

const HOSTILE = [
  "SELECT * FROM read_csv('http://127.0.0.1:9/x.csv')",
  "SELECT * FROM 'http://127.0.0.1:9/x.csv'",
  'SELECT * FROM "http://127.0.0.1:9/x.parquet"',
  "SELECT * FROM read_text('/etc/passwd')",
  "SELECT * FROM glob('/*')",
  "SELECT * FROM query('SELECT 1')",
  "SELECT * FROM query_table('foot_visit_all')",
  'SELECT * FROM enable_profiling()',
  `SELECT * FROM "enable_logging"('QueryLog')`,
  'SELECT * FROM checkpoint()',
  'SELECT * FROM arrow_scan(1, 2, 3)',
  "ATTACH 'x.db' AS x",
  'INSTALL httpfs',
  'LOAD httpfs',
  "COPY foot_visit TO 'x.csv'",
  'SET lock_configuration = false',
  'PRAGMA enable_profiling',
  'DROP TABLE herd_record.main.foot_row',
  'SELECT 1; DROP TABLE herd_record.main.foot_row',
  'SELECT 1) ; DROP TABLE herd_record.main.foot_row; SELECT * FROM (SELECT 1',
  'SELECT 1) AS a; DELETE FROM herd_record.main.visit_row; --',
  'WITH d AS (DELETE FROM herd_record.main.foot_row RETURNING *) SELECT * FROM d',
  'WITH d AS (INSERT INTO herd_record.main.foot_row SELECT * FROM herd_record.main.foot_row RETURNING *) SELECT * FROM d',
  'SELECT 1 /* */ ; /* */ DROP TABLE herd_record.main.foot_row',
  'FROM (PIVOT foot_visit ON foot); CREATE TABLE herd_record.main.z AS SELECT 1',
];

describe('a page from someone else', () => {
  const standing = async () =>
    numbers(await engine.query('SELECT count(*) AS n FROM herd_record.main.foot_row'), 'n')[0];

  for (const sql of HOSTILE) {
    it(`is refused: ${sql}`, async () => {
      await expect(run(LEFT, 'hostile', sql)).rejects.toThrow();
      expect(await standing()).toBe(8);
      expect(await ask(LEFT, 'SELECT count(*) AS n FROM foot_visit')).toBe(8);
    });
  }

  it('cannot hide a statement in the condition of the rows behind a figure', async () => {
    for (const where of [
      'TRUE; DROP TABLE herd_record.main.foot_row',
      'TRUE); DROP TABLE herd_record.main.foot_row; SELECT (1',
      "EXISTS (SELECT * FROM read_text('/etc/passwd'))",
    ]) {
      const behind = { relation: 'foot_visit', where, title: 't', scene: LEFT } as const;
      await expect(desk.countRows(behind, CONTEXT)).rejects.toThrow();
      await expect(desk.rowsAsCsv(behind, CONTEXT)).rejects.toThrow();
      const request = { behind, offset: 0, limit: 1, sort: null };
      await expect(desk.fetchRows(request, CONTEXT)).rejects.toThrow();
    }
    const relation = 'foot_visit_all; DROP TABLE herd_record.main.foot_row; SELECT 1' as 'foot_visit';
    await expect(desk.countRows({ relation, where: 'TRUE', title: 't' }, CONTEXT)).rejects.toThrow();
    expect(await standing()).toBe(8);
  });

  it('may call no function of the engine that reads, runs or changes anything: each one is accounted for', async () => {
    const listed = await engine.query(
      "SELECT DISTINCT function_name AS name FROM duckdb_functions() WHERE function_type IN ('table', 'table_macro') ORDER BY 1",
    );
    const allowed = texts(listed, 'name').filter((name) => name !== null && mayCall(name));
    expect(allowed).toEqual([
      'generate_series',
      'histogram',
      'histogram_values',
      'range',
      'repeat',
      'unnest',
    ]);
  });

  it('cannot take the place of one of the herd’s own tables', async () => {
    await run(LEFT, 'visit_row', 'SELECT 1 AS n');
    expect(numbers(await engine.query('SELECT count(*) AS n FROM herd_record.main.visit_row'), 'n')[0]).toBe(
      8,
    );
    await desk.dropEntry({ scene: LEFT, name: 'visit_row' }, CONTEXT);
  });
});

describe('takeAway', () => {
  const take = (format: TakenTable['format'], of: TakenTable['of']) => desk.takeAway({ format, of }, CONTEXT);
  const SQL =
    "SELECT horse_id, visit_date, toe_before_mm, notes, 'TRUE' AS behind FROM foot_visit ORDER BY source_line";

  it('writes a query’s rows as CSV with formulas defused and counted', async () => {
    await run(LEFT, 'all_rows', SQL);
    const file = await take('csv', { kind: 'entry', scene: LEFT, name: 'all_rows' });
    expect(new TextDecoder().decode(file.bytes).split('\r\n').slice(0, 4)).toEqual([
      'horse_id,visit_date,toe_before_mm,notes',
      `D1,2023-12-09,95,"'=HYPERLINK(""http://x"")"`,
      'D1,2024-01-18,96,"\'-note"',
      'D1,2024-02-27,97,',
    ]);
    expect(file).toMatchObject({ rowCount: 8, defused: 2 });
  });

  it('writes the same rows as Parquet and as Arrow, read back equal', async () => {
    const table = await run(LEFT, 'all_rows', SQL);
    const { behind: _, ...columns } = table.columns;
    const of = { kind: 'entry', scene: LEFT, name: 'all_rows' } as const;
    const arrow = await take('arrow', of);
    expect(decodeArrow(arrow.bytes)).toEqual({ rowCount: 8, columns });
    const parquet = await take('parquet', of);
    const parts = [];
    for await (const part of readParquet(parquet.bytes)) parts.push(part.table);
    expect(parts).toEqual([{ rowCount: 8, columns }]);
    expect(arrow.defused + parquet.defused).toBe(0);
  });

  it('writes the rows behind a figure', async () => {
    const behind = { relation: 'foot_visit', where: "foot = 'LF'", title: 't', scene: RIGHT } as const;
    const file = await take('csv', { kind: 'rows', behind });
    expect(file.rowCount).toBe(3);
  });
});
