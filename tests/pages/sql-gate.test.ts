import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { sqlLexemes } from '../../src/core/sql-lexemes.ts';
import { sqlTokens } from '../../src/core/sql-tokens.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { clarityProblem } from '../../src/pages/sql-clarity.ts';
import { expressionProblem, selectProblem } from '../../src/pages/sql-references.ts';

/** The engine fails with a word of its own wherever it takes this for a call. */
const CALL = 'read_zqx';
let engine: Engine;
beforeAll(async () => {
  engine = await openNodeEngine();
  await engine.run(`CREATE MACRO ${CALL}(x) AS error('reached')`);
  await engine.run(`CREATE MACRO ${CALL}(x) AS TABLE SELECT error('reached')`);
});

const enginesCall = async (sql: string): Promise<boolean> => {
  try {
    await engine.query(sql);
    return false;
  } catch (error) {
    return /reached/.test(String((error as Error).message));
  }
};
const ourCall = (sql: string): boolean => {
  const tokens = sqlTokens(sql);
  return tokens.some(({ text }, at) => text === CALL && tokens[at + 1]?.text === '(');
};

/** Each hid the call from an earlier reader of ours, and none from the engine. */
const HIDDEN = [
  `SELECT 1 AS a -- end\r, ${CALL}('x') AS b`,
  `SELECT E'\\'' AS a, ${CALL}('x') AS b, '' AS c`,
  `SELECT E'a'\n'\\'' AS a, ${CALL}('x') AS b, '' AS c`,
  `SELECT $a1$ ' $a1$ AS a, ${CALL}('x') AS b --'`,
  `SELECT $é$ ' $é$ AS a, ${CALL}('x') AS b --'`,
  `SELECT 1 /* /* */ ' */ AS a, ${CALL}('x') AS b --'`,
  `SELECT ${CALL}\u200b('x') AS a`,
  `SELECT ${CALL}\u00a0/**/('x') AS a`,
  `SELECT "${CALL}" ('x') AS a`,
  `SELECT * FROM ${CALL}\ufeff('x')`,
];

describe('the gate before the engine', () => {
  it.each(HIDDEN)('sees the call that the engine sees: %j', async (sql) => {
    expect(await enginesCall(sql)).toBe(true);
    expect(ourCall(sql)).toBe(true);
    expect(selectProblem(sql)?.message).toContain(`${CALL}()`);
  });

  it('sees every call that the engine sees, whatever stands around it, or refuses the text', async () => {
    const piece = fc.constantFrom(
      ...["'", "''", '"', '\\', "\\'", '$', '$$', '$a1$', '$é$', '--', '\n', '\r', '/*', '*/', ' ', '\u00a0'],
      ...['\u200b', '\f', 'x', '1', '1e', '0x', 'e', 'é', '😀', '.', '||', ',', '\0', '\u001b', `${CALL}(`],
    );
    const body = fc.array(piece, { maxLength: 4 }).map((pieces) => pieces.join(''));
    const shell = fc.constantFrom<[string, string]>(
      ...([
        ["'", "'"],
        ["E'", "'"],
        ["x E'", "'"],
        ["1e'", "'"],
        ['$$', '$$'],
        ['$a1$', '$a1$'],
        ['$é$', '$é$'],
        ['/*', '*/ 1'],
        ['1 --', '\n'],
        ['1 --', '\r'],
        ['"', '"'],
        ["E'a'\n'", "'"],
      ] as [string, string][]),
    );
    const operand = fc.tuple(shell, body).map(([[open, close], inside]) => `${open}${inside}${close}`);
    const gap = fc.constantFrom(
      '',
      ' ',
      '\n',
      '\r',
      '\u00a0',
      '\u200b',
      '\u2028',
      '/**/',
      '/* /* */ */',
      '--\r',
    );
    let seen = 0;
    await fc.assert(
      fc.asyncProperty(operand, gap, operand, async (before, between, after) => {
        const sql = `SELECT ${before}, ${CALL}${between}(1), ${after}`;
        if (!(await enginesCall(sql))) return;
        seen += 1;
        expect(ourCall(sql) || clarityProblem(sql) !== null).toBe(true);
      }),
      { numRuns: 250 },
    );
    // Enough of the texts mean something to the engine for the property to say something.
    expect(seen).toBeGreaterThan(10);
  });

  it('cuts a text into pieces that are the whole of it, whatever it is', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 60 }), (sql) => {
        const cut = sqlLexemes(sql);
        expect(cut.map(({ start, end }) => sql.slice(start, end)).join('')).toBe(sql);
        expect(cut.every(({ start, end }) => end > start)).toBe(true);
      }),
    );
  });

  it.each([
    ["SELECT 'open", 'must close a text'],
    ['SELECT 1 /* open', 'must close a comment'],
    ['SELECT "open', 'must close a name in quotes'],
    ["SELECT E'open\\'", 'must close a text'],
    ['SELECT $x$ open', 'must close a text'],
    ['SELECT 1 AS a\0, 2 AS b', 'character 0'],
    ['SELECT 1 AS\u0001a', 'control characters: U+0001'],
    ['SELECT $1', 'name of a choice'],
    ["SELECT 1'x'", 'space between a number and a text'],
  ])('refuses what two readers may read in two ways: %j', (sql, why) => {
    expect(selectProblem(sql)?.message).toContain(why);
    expect(expressionProblem(sql)?.message).toContain(why);
  });

  it.each([
    "SELECT 'it''s' AS a, E'tab\\t' AS b, $$ any ' text $$ AS c",
    'SELECT "toe ""before""" AS a -- words, ( and \'',
    'SELECT 1e5 AS a, .5 AS b, 0xff AS c, 1_000 AS d /* one /* in */ another */',
    'SELECT mähne FROM foot_visit WHERE breed_type = $breed\u00a0',
    'FROM foot_visit SELECT count(*) AS n;',
  ])('lets pass what people write: %j', (sql) => {
    expect(selectProblem(sql)).toBeNull();
  });

  it.each([
    "SELECT * FROM read_csv('http://203.0.113.1/x.csv')",
    "SELECT * FROM read_text('/etc/passwd')",
    "SELECT * FROM glob('*')",
    "SELECT * FROM query('DROP TABLE herd_record.main.foot_row')",
    'SELECT * FROM duckdb_settings()',
    'INSTALL httpfs',
    "LOAD 'httpfs'",
    "ATTACH 'x.db' AS x",
    "SET memory_limit = '100GB'",
    'PRAGMA enable_profiling',
    "COPY foot_visit TO 'out.csv'",
    "EXPORT DATABASE 'out'",
    'CREATE TABLE t AS SELECT 1',
    'SELECT 1; INSTALL httpfs',
    'CALL pragma_version()',
    'SELECT sleep_ms(1000000)',
    'SELECT pg_sleep(1000000)',
  ])('refuses by name: %j', (sql) => {
    expect(selectProblem(sql)).not.toBeNull();
  });
});
