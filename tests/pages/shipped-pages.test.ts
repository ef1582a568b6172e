import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { CAUTIONS } from '../../src/analyses/cautions.ts';
import { dependencyGraph } from '../../src/pages/dependency-graph.ts';
import { parsePage } from '../../src/pages/parse-page.ts';

const folder = new URL('../../notebooks/', import.meta.url);
const files = readdirSync(folder).filter((name) => name.endsWith('.md'));

describe('the shipped pages', () => {
  it('are there', () => {
    expect(files.length).toBeGreaterThanOrEqual(4);
  });

  it.each(files)(
    '%s can be read, refers to nothing that is not there, and names cautions that exist',
    (name) => {
      const page = parsePage(readFileSync(new URL(name, folder), 'utf8'));
      expect(page.problems).toEqual([]);
      expect(dependencyGraph(page.entries).problems).toEqual([]);
      expect(page.entries.length).toBeGreaterThan(0);
      expect(page.front.cautions.filter((key) => !(key in CAUTIONS))).toEqual([]);
      expect(page.front.cautions.length).toBeGreaterThan(0);
    },
  );

  it.each(files)('%s gives every chart something that says what it shows without sight', (name) => {
    const { entries } = parsePage(readFileSync(new URL(name, folder), 'utf8'));
    const charts = entries.flatMap((entry) => (entry.kind === 'chart' ? [entry.body] : []));
    expect(charts.filter(({ alt, title }) => !alt && !title)).toEqual([]);
  });

  it('can all be reached from the caseload', () => {
    const caseload = readFileSync(new URL('caseload.md', folder), 'utf8');
    const others = files.map((name) => name.replace('.md', '')).filter((name) => name !== 'caseload');
    expect(others.filter((name) => !caseload.includes(`](#${name})`))).toEqual([]);
  });
});
