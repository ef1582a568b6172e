// @vitest-environment jsdom
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { parsePage } from '../../src/pages/parse-page.ts';
import { readPage } from '../../src/pages/read-page.ts';
import { renderMarkdown } from '../../src/pages/render-markdown.ts';

const folder = join(process.cwd(), 'notebooks');
const names = readdirSync(folder).filter((name) => name.endsWith('.md'));
/** The same HTML, however it is written. */
const asParsed = (html: string): string => {
  const holder = document.createElement('div');
  holder.innerHTML = html;
  return holder.innerHTML;
};

describe('a page read while the program is built', () => {
  it.each(names)('%s is the page that its text is, also once written down as JSON', (name) => {
    const text = readFileSync(join(folder, name), 'utf8');
    expect(JSON.parse(JSON.stringify(readPage(text).page))).toEqual(parsePage(text));
  });

  it.each(names)('%s has texts in which nothing had to be cleaned', (name) => {
    const { page, html } = readPage(readFileSync(join(folder, name), 'utf8'));
    const texts = page.blocks.filter((block) => block.type === 'text');
    expect(texts.length).toBeGreaterThan(0);
    for (const { line, markdown } of texts) {
      expect(asParsed(html[line] ?? '')).toBe(asParsed(renderMarkdown(markdown)));
    }
  });
});
