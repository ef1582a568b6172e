import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { parsePage } from '../../src/pages/parse-page.ts';

const FOLDER = new URL('../fixtures/hostile-pages/', import.meta.url);
const HEAD = '---\ntitle: T\nsummary: S\n---\n\n';
const chart = (body: string) => parsePage(`${HEAD}\`\`\`chart c\n${body}\n\`\`\`\n`).problems;

describe('a page from a stranger', () => {
  it.each(readdirSync(FOLDER))('is read or refused, never thrown over: %s', (name) => {
    const page = parsePage(readFileSync(new URL(name, FOLDER), 'utf8'));
    expect(page.entries.some((entry) => entry.name.startsWith('fine'))).toBe(true);
    expect(page.entries.filter((entry) => entry.name.startsWith('refused_bomb'))).toEqual([]);
    expect('polluted' in {}).toBe(false);
  });

  it('uses no alias: a few lines of them stand for more than any machine holds', () => {
    expect(chart('data: &a x\ntitle: *a\nmarks: []')).toMatchObject([
      { line: 8, entry: 'c', message: 'YAML must not use an alias: *a' },
    ]);
    expect(chart('data: &a\n  - *a\nmarks: []')[0]?.message).toContain('alias');
  });

  it.each([
    ['lists', `data: ${'['.repeat(20_000)}`],
    ['mappings', `data: ${'{a: '.repeat(20_000)}`],
    ['indents', Array.from({ length: 3_000 }, (_, k) => `${' '.repeat(k)}a:`).join('\n')],
  ])('says so where it nests too deep: %s', (_, body) => {
    expect(chart(body).length).toBeGreaterThan(0);
  });

  it('reads text that nests deep, is long, or is one long line', () => {
    for (const text of [
      '> '.repeat(20_000),
      '['.repeat(50_000),
      `${'*a '.repeat(50_000)}`,
      '`'.repeat(50_000),
    ])
      expect(parsePage(`${HEAD}${text}\n`).problems).toEqual([]);
  });
});
