import { describe, expect, it } from 'vitest';
import { dependencyGraph } from '../../src/pages/dependency-graph.ts';
import { parsePage } from '../../src/pages/parse-page.ts';
import { choiceReferences, nameReferences } from '../../src/pages/sql-references.ts';

const HEAD = '---\ntitle: T\n---\n';
const fence = (info: string, ...body: string[]) => [`\`\`\`${info}`, ...body, '```', ''].join('\n');
const graphOf = (...fences: string[]) => {
  const page = parsePage(HEAD + fences.join(''));
  expect(page.problems).toEqual([]);
  return dependencyGraph(page.entries);
};

describe('dependencyGraph', () => {
  it('finds choices, tables of analyses and queries, and orders each after what it reads', () => {
    const graph = graphOf(
      fence(
        'chart c',
        'data: top',
        'marks:',
        '  - {mark: dot, x: a}',
        '  - {mark: rule, data: growth.estimates, x: 1}',
      ),
      fence('query top', 'SELECT * FROM growth.per_horse', 'WHERE breed_type = $Breed ORDER BY 1'),
      fence('analysis growth', 'use: growth', 'since: $from', 'text: costs $5'),
      fence('findings f', 'growth'),
      fence('choice breed', 'label: B', 'kind: list', 'options: {of: breeds, value: breed_type}'),
      fence('query breeds', 'SELECT DISTINCT breed_type FROM foot_visit ORDER BY 1'),
      fence('choice from', 'label: F', 'kind: date', 'default: 2025-01-01'),
    );
    expect(graph.problems).toEqual([]);
    expect(Object.fromEntries(graph.uses)).toEqual({
      c: ['top', 'growth'],
      top: ['breed', 'growth'],
      growth: ['from'],
      f: ['growth'],
      breed: ['breeds'],
      breeds: [],
      from: [],
    });
    for (const [name, used] of graph.uses) {
      for (const other of used) expect(graph.order.indexOf(other)).toBeLessThan(graph.order.indexOf(name));
    }
    expect(graph.order).toHaveLength(7);
  });

  it('reports a missing name and a wrong kind at the line where it stands', () => {
    const graph = graphOf(
      fence('query q', 'SELECT *', 'FROM foot_visit', 'WHERE breed_type = $breed'),
      fence('findings f', 'of: q'),
      fence('table t', 'caption: x', 'of: gone'),
      fence('analysis g', 'use: growth', 'nested:', '  - deep: $nope'),
      fence('table u', 'of: g'),
    );
    expect(graph.problems).toEqual([
      { line: 7, entry: 'q', message: 'no choice of this page is called $breed' },
      { line: 10, entry: 'f', message: 'q must be of kind analysis: query' },
      { line: 14, entry: 't', message: 'no entry of this page is called gone: there are q, g' },
      { line: 19, entry: 'g', message: 'no choice of this page is called $nope' },
      {
        line: 22,
        entry: 'u',
        message: 'g must say which table of the analysis: write g.estimates for the first',
      },
    ]);
  });

  it('reports a ring at each of its members and orders the rest', () => {
    const graph = graphOf(
      fence('query a', 'SELECT * FROM b'),
      fence('query b', 'SELECT * FROM a'),
      fence('query self', 'SELECT * FROM self'),
      fence('query fine', 'SELECT fine FROM foot_visit'),
    );
    expect(graph.problems.map(({ line, entry, message }) => [line, entry, message])).toEqual([
      [4, 'a', 'entries must not read one another in a ring: a → b → a'],
      [7, 'b', 'entries must not read one another in a ring: a → b → a'],
      [10, 'self', 'entries must not read one another in a ring: self → self'],
    ]);
    expect(graph.order).toEqual(['fine']);
  });
});

describe('choiceReferences', () => {
  it('finds each mention and leaves strings, comments and dollar quotes alone', () => {
    const sql = "SELECT '$a', $b + $a, $B, $$ $a $$ -- $a";
    expect(choiceReferences(sql)).toEqual([
      { name: 'b', offset: 13 },
      { name: 'a', offset: 18 },
      { name: 'B', offset: 22 },
    ]);
  });
});

describe('nameReferences', () => {
  const names = (sql: string) =>
    nameReferences(sql).map(({ name, table }) => (table ? `${name}.${table}` : name));

  it('looks past strings, comments, aliases and parts after a dot', () => {
    expect(names("SELECT 'rates', t.rates AS rates /* rates */ FROM t -- rates")).toEqual([
      'SELECT',
      't.rates',
      'AS',
      'FROM',
      't',
    ]);
    expect(names('SELECT "my ""odd"" name" FROM x')).toContain('my "odd" name');
  });

  it("leaves out the query's own WITH names", () => {
    expect(names('WITH rates AS (SELECT 1) SELECT * FROM rates, other')).not.toContain('rates');
    expect(names('WITH rates AS (SELECT 1) SELECT * FROM rates, other')).toContain('other');
  });
});
