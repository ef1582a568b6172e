import { stringify } from 'yaml';
import { ENTRY_NAME, type EntryKind, RESERVED_NAMES } from './entry-schemas.ts';
import type { Page } from './page.ts';
import { parsePage } from './parse-page.ts';

export { parsePage };

/** What a new page begins with. */
export const NEW_PAGE = `---
title: New page
summary: What this page answers
cautions: [record]
---

Write here what you want to know.
`;

/** The text of an entry with its fences: SQL for a query, YAML for the rest. */
export function entryText(
  kind: EntryKind,
  name: string,
  body: string | Readonly<Record<string, unknown>>,
): string {
  const text = typeof body === 'string' ? body : stringify(withoutEmpty(body), { lineWidth: 110 });
  // A fence longer than any run of backticks inside it cannot be closed from within.
  const longest = Math.max(0, ...Array.from(text.matchAll(/`+/g), ([run]) => run.length));
  const fence = '`'.repeat(Math.max(3, longest + 1));
  return `${fence}${kind} ${name}\n${text.trim()}\n${fence}\n`;
}

function withoutEmpty(body: Readonly<Record<string, unknown>>): Record<string, unknown> {
  return Object.fromEntries(Object.entries(body).filter(([, value]) => value !== undefined && value !== ''));
}

/** A name made of what the user wrote that no entry of the page bears yet. */
export function freeName(wanted: string, page: Page): string {
  const taken = new Set([...RESERVED_NAMES, ...page.entries.map(({ name }) => name.toLowerCase())]);
  const plain = wanted
    .normalize('NFD')
    .replaceAll(/\p{M}/gu, '')
    .toLowerCase()
    .replaceAll(/[^a-z0-9]+/g, '_')
    .replaceAll(/^[_0-9]+|_+$/g, '')
    .slice(0, 40);
  const stem = ENTRY_NAME.test(plain) ? plain : 'entry';
  if (!taken.has(stem)) return stem;
  for (let k = 2; ; k += 1) if (!taken.has(`${stem}_${k}`)) return `${stem}_${k}`;
}

/** What is wrong with a name that the user gave; null when nothing is. */
export function nameFault(name: string, page: Page): string | null {
  if (!ENTRY_NAME.test(name)) return 'A name is letters, digits and underscores, a letter first.';
  if (RESERVED_NAMES.has(name.toLowerCase())) return 'This name belongs to one of the herd’s own tables.';
  const taken = page.entries.some((entry) => entry.name.toLowerCase() === name.toLowerCase());
  return taken ? 'Another entry of this page has this name.' : null;
}

const lineCount = (text: string) => text.replace(/\n$/, '').split('\n').length;

/**
 * Where a new block may stand, as the number of lines before it: after the block in which the line (from 1) lies, and
 * never inside the front matter.
 */
export function placeAfter(text: string, line: number): number {
  const lines = text.split('\n');
  const page = parsePage(text);
  const fences = page.blocks.flatMap((block) => {
    if (block.type === 'text') return [];
    const { line: from, source } = block.type === 'entry' ? block.entry : block;
    return [{ from, to: Math.min(lines.length, from + (source === '' ? 0 : lineCount(source)) + 1) }];
  });
  const head =
    lines[0]?.trimEnd() === '---' ? lines.findIndex((each, at) => at > 0 && each.trimEnd() === '---') : -1;
  const wanted = Math.max(line, head + 1);
  const inside = fences.find(({ from, to }) => wanted >= from && wanted <= to);
  if (inside) return inside.to;
  const inFence = (at: number) => fences.some(({ from }) => from === at + 1);
  let at = wanted;
  // To the end of the paragraph.
  while (
    at < lines.length &&
    at > head + 1 &&
    lines[at - 1]!.trim() !== '' &&
    lines[at]!.trim() !== '' &&
    !inFence(at)
  ) {
    at += 1;
  }
  return at;
}

/** The text with a block put in, a blank line on either side. `line` is where it now begins. */
export function insertBlock(text: string, afterLines: number, block: string): { text: string; line: number } {
  const lines = text.split('\n');
  const before = lines.slice(0, afterLines).join('\n').replace(/\n+$/, '');
  const after = lines.slice(afterLines).join('\n').replace(/^\n+/, '');
  const head = `${before}\n\n`;
  return {
    text: `${head}${block.trimEnd()}\n${after === '' ? '' : `\n${after}`}`,
    line: head.split('\n').length,
  };
}

/** The page under another title; a page without front matter gets one. */
export function withTitle(text: string, title: string): string {
  const line = `title: ${stringify(title, { lineWidth: 0 }).trim()}`;
  const lines = text.replace(/^\uFEFF/, '').split(/\r\n|\r|\n/);
  const end =
    lines[0]?.trimEnd() === '---' ? lines.findIndex((each, at) => at > 0 && each.trimEnd() === '---') : -1;
  if (end < 0) return `---\n${line}\n---\n\n${lines.join('\n')}`;
  const head = lines.slice(1, end);
  const at = head.findIndex((each) => /^title\s*:/.test(each));
  if (at < 0) head.unshift(line);
  else {
    // A title may go on over lines that are set in.
    let to = at + 1;
    while (to < head.length && /^\s+\S/.test(head[to]!)) to += 1;
    head.splice(at, to - at, line);
  }
  return ['---', ...head, ...lines.slice(end)].join('\n');
}

/** A file name for what is called so: `Feet in winter` as `feet-in-winter`. */
export function fileStem(title: string): string {
  const plain = title
    .normalize('NFD')
    .replaceAll(/\p{M}/gu, '')
    .toLowerCase()
    .replaceAll(/[^a-z0-9]+/g, '-')
    .replaceAll(/^-+|-+$/g, '')
    .slice(0, 60);
  return plain === '' ? 'page' : plain;
}
