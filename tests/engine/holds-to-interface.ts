import { afterAll, beforeAll, expect, test } from 'vitest';
import { dayFromIso } from '../../src/core/civil-day.ts';
import {
  booleanColumn,
  type CodedNumbers,
  codedBooleanColumn,
  codedNumberColumn,
  codedTextColumn,
  dayColumn,
  makeTable,
  numberColumn,
  rowsOf,
  type Table,
  textColumn,
  textColumnByCode,
  wholeColumn,
} from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { literal, quoteName } from '../../src/engine/sql-text.ts';

/** Statements that would reach outside of any engine. */
const OUTSIDE = [
  "SELECT * FROM read_csv('http://localhost:9/x.csv')",
  "SELECT * FROM read_csv('/etc/passwd')",
  "COPY (SELECT 1) TO 'out.csv'",
  "ATTACH 'other.db'",
  'SET enable_external_access = true',
];

/** What every engine must do alike. `more` are statements that would reach outside of this one. */
export function holdsToInterface(open: () => Promise<Engine>, more: readonly string[]): void {
  let engine: Engine;
  beforeAll(async () => {
    engine = await open();
  });
  afterAll(() => engine.close());

  test('gives integers, decimals and sums as numbers, dates as days, missing as missing', async () => {
    const table = await engine.query(
      "SELECT 1::BIGINT AS big, 1.25 AS dec, sum(x) AS total, DATE '2024-02-29' AS d, NULL::DOUBLE AS gap, true AS yes, 'a' AS t FROM (VALUES (1), (2)) v(x)",
    );
    expect(rowsOf(table)).toEqual([
      { big: 1, dec: 1.25, total: 3, d: dayFromIso('2024-02-29'), gap: null, yes: true, t: 'a' },
    ]);
  });

  test('reads back what it wrote, missing cells and awkward text included', async () => {
    const written = makeTable({
      n: numberColumn([1.5, null, -0.25]),
      d: dayColumn([dayFromIso('1969-12-31'), null, dayFromIso('2031-01-01')]),
      b: booleanColumn([true, null, false]),
      t: textColumn(['O\'Hara; "x"', null, 'Ünal\n2']),
    });
    await engine.write('kept', written);
    expect(rowsOf(await engine.query('SELECT * FROM kept'))).toEqual(rowsOf(written));
    await engine.append('kept', written);
    expect(rowsOf(await engine.query('SELECT count(*) AS n FROM kept'))).toEqual([{ n: 6 }]);
    const types = await engine.query(
      "SELECT column_name, data_type FROM information_schema.columns WHERE table_name = 'kept' ORDER BY ordinal_position",
    );
    expect(rowsOf(types).map((r) => r.data_type)).toEqual(['DOUBLE', 'DATE', 'BOOLEAN', 'VARCHAR']);
  });

  test('takes in numbers and days by their codes', async () => {
    const coded = (type: 'number' | 'day', codes: CodedNumbers['codes'], levels: number[]) =>
      codedNumberColumn(type, { codes, levels: Float64Array.from(levels) });
    const written: Table = {
      rowCount: 4,
      columns: {
        few: coded('number', Uint8Array.of(2, 0, 1, 2), [Number.NaN, -0.25, 81.5]),
        some: coded('number', Uint16Array.of(0, 0, 0, 1), [1e9, 7]),
        many: coded('number', Int32Array.of(0, 0, 0, 0), [Number.NaN]),
        day: coded('day', Uint8Array.of(0, 1, 2, 0), [-1, Number.NaN, 20_521]),
      },
    };
    await engine.fill('by_code', [written, written]);
    const rows = rowsOf(written);
    expect(rowsOf(await engine.query('SELECT * FROM by_code ORDER BY rowid'))).toEqual([...rows, ...rows]);
    const types = await engine.query(
      "SELECT data_type FROM information_schema.columns WHERE table_name = 'by_code' ORDER BY ordinal_position",
    );
    expect(rowsOf(types).map((r) => r.data_type)).toEqual(['DOUBLE', 'DOUBLE', 'DOUBLE', 'DATE']);
  });

  test('takes in texts, truths and whole numbers by their codes', async () => {
    const [words, truths] = [
      ['firm', null, 'rocky', 'firm'],
      [null, true, false, true],
    ];
    const texts = (codes: CodedNumbers['codes']) =>
      textColumnByCode({ codes, levels: words }, ['firm', 'rocky'], () => Int32Array.of(0));
    const written: Table = {
      rowCount: 10,
      columns: {
        few: texts(Uint8Array.of(3, 0, 1, 2, 2, 2, 1, 1, 0, 3)),
        same: texts(Uint16Array.of(0, 0, 0, 0, 1, 2, 2, 3, 3, 3)),
        many: texts(Int32Array.of(1, 1, 1, 1, 1, 1, 1, 1, 1, 1)),
        yes: codedBooleanColumn({ codes: Uint8Array.of(0, 1, 2, 3, 0, 1, 2, 3, 0, 2), levels: truths }),
        no: codedBooleanColumn({ codes: Uint16Array.of(2, 2, 2, 2, 0, 0, 1, 1, 0, 2), levels: truths }),
        grade: codedNumberColumn(
          'number',
          { codes: Uint8Array.of(1, 0, 1, 1, 2, 2, 2, 2, 1, 0), levels: Float64Array.of(3, Number.NaN, -7) },
          true,
        ),
        line: wholeColumn(Int32Array.of(5, 4, 3, 2, 1, 0, -1, -2, -3, 2 ** 31 - 1)),
      },
    };
    const types = {
      few: "ENUM('rocky', 'firm')",
      same: 'VARCHAR',
      many: 'VARCHAR',
      yes: 'BOOLEAN',
      no: 'BOOLEAN',
      grade: 'INTEGER',
      line: 'INTEGER',
    };
    await engine.fill('coded', [written, written], types);
    await engine.fill('typed', [written]);
    const rows = rowsOf(written);
    expect(
      rowsOf(await engine.query('SELECT * REPLACE (few::VARCHAR AS few) FROM coded ORDER BY rowid')),
    ).toEqual([...rows, ...rows]);
    expect(rowsOf(await engine.query('SELECT * FROM typed ORDER BY rowid'))).toEqual(rows);
    const found = await engine.query(
      "SELECT data_type FROM information_schema.columns WHERE table_name = 'typed' ORDER BY ordinal_position",
    );
    expect(rowsOf(found).map((r) => r.data_type)).toEqual(Object.values({ ...types, few: 'VARCHAR' }));
  });

  test('keeps the columns of a table without rows', async () => {
    await engine.write('empty', makeTable({ n: numberColumn([]), t: textColumn([]) }));
    const table = await engine.query('SELECT * FROM empty');
    expect(table.rowCount).toBe(0);
    expect(Object.keys(table.columns)).toEqual(['n', 't']);
  });

  test('fills a table piece by piece: whole numbers as integers, texts by their codes', async () => {
    const piece = (from: number): Table => ({
      rowCount: 3,
      columns: {
        n: { type: 'number', values: Float64Array.of(from, Number.NaN, from + 2), whole: true },
        t: codedTextColumn(Int32Array.of(1, -1, 0), ['firm', 'rocky']),
        x: numberColumn([0.5, null, from]),
      },
    });
    await engine.fill('filled', [piece(0), piece(3)]);
    await engine.fill('filled', [piece(10), piece(20), piece(30)]);
    const types = await engine.query(
      "SELECT data_type FROM information_schema.columns WHERE table_name = 'filled' ORDER BY ordinal_position",
    );
    expect(rowsOf(types).map((r) => r.data_type)).toEqual(['INTEGER', 'VARCHAR', 'DOUBLE']);
    expect(rowsOf(await engine.query('SELECT * FROM filled'))).toEqual([
      ...rowsOf(piece(10)),
      ...rowsOf(piece(20)),
      ...rowsOf(piece(30)),
    ]);
  });

  test('runs calls in turn, and gives up one whose signal is aborted', async () => {
    const sums = await Promise.all(
      [1, 2, 3].map((k) => engine.query(`SELECT sum(x * ${k}) AS n FROM range(1000) r(x)`)),
    );
    expect(sums.flatMap((table) => rowsOf(table).map(({ n }) => n))).toEqual([499_500, 999_000, 1_498_500]);
    await expect(engine.query('SELECT 1', AbortSignal.abort(new Error('enough')))).rejects.toThrow('enough');
  });

  test('shows moments as ISO text and refuses what it cannot show', async () => {
    const table = await engine.query(
      "SELECT TIMESTAMP '1969-12-31 23:59:58.5' AS m, NULL AS nothing, 2::HUGEINT AS h, ('x'::ENUM('x', 'y')) AS e",
    );
    expect(rowsOf(table)).toEqual([{ m: '1969-12-31T23:59:58', nothing: null, h: 2, e: 'x' }]);
    await expect(engine.query('SELECT [1] AS list')).rejects.toThrow(
      /column list has a type that cannot be shown/,
    );
  });

  test('refuses several statements where one is checked', async () => {
    await expect(engine.check('SELECT 1; SELECT 2')).rejects.toThrow();
    await expect(engine.check('SELEC 1')).rejects.toThrow(/syntax/i);
    await engine.check('SELECT 1');
  });

  test.each([...OUTSIDE, ...more])('cannot reach outside: %s', async (sql) => {
    await expect(engine.run(sql)).rejects.toThrow();
  });

  test('quotes names and text', async () => {
    const name = 'a "b"';
    const table = await engine.query(`SELECT ${literal("it's")} AS ${quoteName(name)}`);
    expect(rowsOf(table)).toEqual([{ [name]: "it's" }]);
    expect(() => literal(Number.NaN)).toThrow(/finite/);
  });
}
