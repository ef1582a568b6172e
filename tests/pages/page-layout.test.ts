import { describe, expect, it } from 'vitest';
import type { Block } from '../../src/pages/page.ts';
import { boardOf, groupsOf, isPrinted } from '../../src/pages/page-layout.ts';
import { parsePage } from '../../src/pages/parse-page.ts';

const fenced = (info: string, body: string) => `\`\`\`${info}\n${body}\n\`\`\`\n\n`;
const CHOICE = 'kind: list\nlabel: L\noptions: [a, b]';
const TEXT = [
  '---\ntitle: T\nlayout: board\nprint: [which, rows]\n---\n\n',
  fenced('query rows', 'SELECT 1 AS a'),
  '## One\n\n',
  fenced('choice which', CHOICE),
  fenced('choice other', CHOICE),
  'Words.\n\n',
  fenced('table shown', 'of: rows'),
  '## Two\n\n',
  '---\n\nAfter.\n',
].join('');

const nameOf = (block: Block): string =>
  block.type === 'entry' ? block.entry.name : block.type === 'text' ? block.markdown.trim() : '';
const names = (groups: readonly (readonly Block[])[]) => groups.map((group) => group.map(nameOf).join('+'));

describe('how a page is laid out', () => {
  const page = parsePage(TEXT);

  it('parts a board at its headings, until a rule', () => {
    expect(page.problems).toEqual([]);
    const { lead, sections, after } = boardOf(groupsOf(page.blocks));
    expect(names(lead)).toEqual(['rows']);
    expect(sections.map(names)).toEqual([
      ['## One', 'which+other', 'Words.', 'shown'],
      ['## Two\n\n---\n\nAfter.'],
    ]);
    expect(names(after)).toEqual([]);
  });

  it('puts on paper what is named, and everything where nothing is', () => {
    const printed = page.blocks.filter((block) => isPrinted([block], page)).map(nameOf);
    expect(printed).toEqual(['rows', 'which']);
    const plain = parsePage(TEXT.replace('print: [which, rows]\n', ''));
    expect(plain.blocks.every((block) => isPrinted([block], plain))).toBe(true);
  });

  it('says when a name to print is not there', () => {
    const { problems } = parsePage(TEXT.replace('[which, rows]', '[which, nowhere]'));
    expect(problems.map(({ message }) => message)).toEqual(['print must name entries of this page: nowhere']);
  });
});
