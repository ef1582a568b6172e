import { describe, expect, it } from 'vitest';
import { parsePage } from '../../src/pages/parse-page.ts';

const HEAD = '---\ntitle: Growth\norder: 2\nsummary: How fast feet grow\ncautions: [not-diagnosis]\n---\n';
const fence = (info: string, ...body: string[]) => [`\`\`\`${info}`, ...body, '```', ''].join('\n');
const problemsOf = (text: string) => parsePage(HEAD + text).problems;

describe('parsePage', () => {
  it('reads front matter, text and entries in their order', () => {
    const page = parsePage(
      `${HEAD}# Growth\n\n${fence('query rates', 'SELECT 1 AS a;')}\nBetween.\n\n${fence('table t', 'of: rates')}`,
    );
    expect(page.problems).toEqual([]);
    expect(page.front).toEqual({
      layout: 'column',
      print: [],
      title: 'Growth',
      order: 2,
      summary: 'How fast feet grow',
      cautions: ['not-diagnosis'],
    });
    expect(page.blocks.map((block) => (block.type === 'entry' ? block.entry.name : block.type))).toEqual([
      'text',
      'rates',
      'text',
      't',
    ]);
    expect(page.entries[0]).toMatchObject({ kind: 'query', line: 9, body: { sql: 'SELECT 1 AS a' } });
    expect(page.entries[1]).toMatchObject({ kind: 'table', line: 15, body: { of: 'rates', limit: 20 } });
  });

  it('leaves other fenced code, and entries inside lists and quotes, as text', () => {
    const page = parsePage(`${HEAD}${fence('sql', 'SELECT 1')}\n> ${'```'}query q\n> SELECT 1\n> ${'```'}\n`);
    expect(page.entries).toEqual([]);
    expect(page.blocks).toHaveLength(1);
    expect(page.problems).toEqual([]);
  });

  it('puts the line of a wrong value, of an unknown key and of a missing key on the problem', () => {
    const text = fence(
      'chart c',
      'data: rates',
      'marks:',
      '  - mark: dot',
      '    x: a',
      '  - mark: blob',
      'heigth: 3',
    );
    expect(problemsOf(text)).toEqual([
      {
        line: 12,
        entry: 'c',
        message: expect.stringMatching(/^marks\.1\.mark must be one of dot, .*: blob$/),
      },
      {
        line: 13,
        entry: 'c',
        message: expect.stringMatching(/^entry does not know heigth: it accepts data, .*height/),
      },
    ]);
    expect(problemsOf(fence('analysis a', 'problem: separation'))).toEqual([
      { line: 8, entry: 'a', message: 'use must be a text: missing' },
    ]);
  });

  it('puts the line of a YAML error on the problem', () => {
    const [problem] = problemsOf(
      `\n${fence('choice c', 'label: Breed', 'kind: list', 'options: [a, b', 'default: a')}`,
    );
    expect(problem).toMatchObject({ line: 12, entry: 'c' });
    expect(problem?.message).toMatch(/^YAML cannot be read: /);
  });

  it('counts lines the same with carriage returns', () => {
    const text = HEAD + fence('table t', 'of: rates', 'limit: many');
    expect(parsePage(text.replaceAll('\n', '\r\n')).problems).toEqual(parsePage(text).problems);
    expect(parsePage(text).problems).toEqual([
      { line: 9, entry: 't', message: 'limit must be a number: many' },
    ]);
  });

  it('says what a front matter must hold', () => {
    expect(parsePage('# No front matter').problems).toEqual([
      { line: 1, entry: null, message: expect.stringMatching(/^page must begin with its front matter/) },
    ]);
    expect(parsePage('---\norder: first\n---\n').problems).toEqual([
      { line: 2, entry: null, message: 'title must be a text: missing' },
      { line: 2, entry: null, message: 'order must be a number: first' },
    ]);
  });

  it.each([
    ['query', 'query must have a name: write `query some_name` after the opening fence'],
    ['query a b', 'query must have one name and nothing after it: a b'],
    ['query <script>', 'name must be letters, digits and underscores, a letter first: <script>'],
    ['query 1st', 'name must be letters, digits and underscores, a letter first: 1st'],
    ['query Trim_Cycle', "name must not be one of the herd's own tables: Trim_Cycle"],
  ])('rejects the info string %s', (info, message) => {
    const page = parsePage(HEAD + fence(info, 'SELECT 1'));
    expect(page.entries).toEqual([]);
    expect(page.problems.map((each) => [each.line, each.message])).toEqual([[7, message]]);
  });

  it('rejects a second entry of one name, whatever its case', () => {
    const text = fence('query rates', 'SELECT 1') + fence('query Rates', 'SELECT 2');
    expect(problemsOf(text)).toEqual([
      {
        line: 10,
        entry: 'Rates',
        message: 'name must be unique on the page: Rates stands at line 7 already',
      },
    ]);
  });

  it.each([
    [['DELETE FROM foot_visit'], 8, 'query must be one SELECT: DELETE'],
    [
      ['SELECT 1;', "DROP TABLE foot_visit -- ';'"],
      9,
      'query must be one SELECT: a second statement begins with DROP',
    ],
    [['-- only a comment'], 8, 'query must hold one SELECT: it is empty'],
  ])('rejects the SQL %j', (body, line, message) => {
    expect(problemsOf(fence('query q', ...body))).toEqual([{ line, entry: 'q', message }]);
  });

  it('takes a semicolon inside a string or a comment for what it is', () => {
    const sql = "SELECT ';' AS a /* ; */ -- ;\n, $$;$$ AS b";
    expect(parsePage(HEAD + fence('query q', sql)).entries[0]).toMatchObject({ body: { sql } });
  });

  it('wants an entry to be closed', () => {
    const page = parsePage(`${HEAD}${'```'}query q\nSELECT 1\n`);
    expect(page.problems).toEqual([{ line: 7, entry: 'q', message: 'entry must be closed by a line ```' }]);
  });

  it.each([
    [['kind: list', 'options: [a, b]', 'default: c'], 11, 'default must be one of the options a, b: c'],
    [['kind: range', 'min: 5', 'max: 2'], 10, 'min must be less than max 2: 5'],
    [['kind: range', 'min: 1', 'max: 2', 'default: 3'], 12, 'default must lie between 1 and 2: 3'],
    [['kind: date', 'default: 9 March'], 10, 'default must be a date such as 2026-03-09: 9 March'],
    [['kind: wheel'], 9, 'kind must be one of list, range, date, rules: wheel'],
    [['kind: list', 'options: {of: breeds}'], 10, 'options.value must be a text: missing'],
  ])('checks the choice %j', (body, line, message) => {
    expect(problemsOf(fence('choice c', 'label: Breed', ...body))).toEqual([{ line, entry: 'c', message }]);
  });
});
