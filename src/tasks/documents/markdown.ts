import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { ROOT } from './imports.ts';

export interface Document {
  /** From the project's root. */
  readonly path: string;
  readonly text: string;
}

const FENCE = /^ {0,3}(```|~~~)/;

/** Every Markdown document of the project for people to read, in order of path. */
export function documents(): Document[] {
  return [...markdownIn('.', false), ...markdownIn('data', true), ...markdownIn('docs', true)].map(
    (path) => ({
      path,
      text: readFileSync(join(ROOT, path), 'utf8'),
    }),
  );
}

function markdownIn(folder: string, below: boolean): string[] {
  return readdirSync(join(ROOT, folder), { recursive: below })
    .map((name) => join(folder, String(name)).replaceAll('\\', '/'))
    .filter((path) => path.endsWith('.md') && !path.startsWith('data/generated'))
    .sort();
}

/** Lines of prose and lines of code, fenced or indented; a fence's own lines are neither. */
export function partsOf(text: string): {
  readonly prose: readonly string[];
  readonly code: readonly string[];
} {
  const prose: string[] = [];
  const code: string[] = [];
  let fence: string | null = null;
  let before = '';
  for (const line of text.split('\n')) {
    const opened = FENCE.exec(line)?.[1] ?? null;
    if (fence !== null) {
      if (opened === fence) fence = null;
      else code.push(line);
    } else if (opened !== null) fence = opened;
    // Indented text is code only after a blank line or other code, and not within a list.
    else if (/^ {4}\S/.test(line) && (before === '' || code.at(-1) === before.slice(4)))
      code.push(line.slice(4));
    else prose.push(line);
    before = line;
  }
  return { prose, code };
}

/** Texts between single backticks in prose. */
export const inlineCode = (prose: readonly string[]): string[] =>
  [...prose.join('\n').matchAll(/`([^`]+)`/g)].map((match) => match[1] ?? '');

/** Where the links and pictures of prose lead. */
export const linksOf = (prose: readonly string[]): string[] =>
  [
    ...prose
      .join('\n')
      .replaceAll(/`[^`]+`/g, '')
      .matchAll(/\]\(([^)\s]+)\)/g),
  ].map((match) => match[1] ?? '');

/** The anchors of a document's headings, as hosts of repositories make them: a second one of a name ends in -1. */
export function anchorsOf(text: string): Set<string> {
  const anchors = new Set<string>();
  for (const line of partsOf(text).prose) {
    const heading = /^#{1,6}\s+(.*?)\s*#*$/.exec(line)?.[1];
    if (heading === undefined) continue;
    const plain = heading.replaceAll(/\[([^\]]*)\]\([^)]*\)/g, '$1').toLowerCase();
    const anchor = plain.replaceAll(/[^\p{L}\p{N}\s_-]/gu, '').replaceAll(/\s/g, '-');
    let name = anchor;
    for (let k = 1; anchors.has(name); k++) name = `${anchor}-${k}`;
    anchors.add(name);
  }
  return anchors;
}
