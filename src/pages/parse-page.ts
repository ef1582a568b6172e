import markdownIt from 'markdown-it';
import {
  BODY_SCHEMAS,
  ENTRY_KINDS,
  ENTRY_NAME,
  type EntryKind,
  frontMatter,
  RESERVED_NAMES,
} from './entry-schemas.ts';
import type { Block, Entry, Page, PageProblem } from './page.ts';
import { bareSelect, selectProblem } from './sql-references.ts';
import { readYaml } from './yaml-body.ts';

const commonMark = markdownIt('commonmark', { html: false });

interface Fence {
  readonly info: string;
  readonly source: string;
  /** Lines from 0: the opening fence, and the line after the closing one. */
  readonly from: number;
  readonly to: number;
  readonly closed: boolean;
}

const kindOf = (info: string): EntryKind | null =>
  ENTRY_KINDS.find((kind) => kind === info.split(/\s+/)[0]) ?? null;

/** Fences at the page's own level whose info string begins with a kind of entry. */
function entryFences(text: string, lines: readonly string[]): Fence[] {
  return commonMark.parse(text, {}).flatMap((token) => {
    const info = token.info.trim();
    if (token.type !== 'fence' || token.level > 0 || !token.map || !kindOf(info)) return [];
    const [from, to] = token.map;
    const mark = token.markup.charAt(0);
    const last = (lines[to - 1] ?? '').trim();
    const closed = to - from > 1 && last.length >= token.markup.length && last === mark.repeat(last.length);
    return [{ info, source: token.content, from, to, closed }];
  });
}

function nameProblem(words: readonly string[], taken: ReadonlyMap<string, number>): string | null {
  const [kind, name] = words;
  if (!name) return `${kind} must have a name: write \`${kind} some_name\` after the opening fence`;
  if (words.length > 2) return `${kind} must have one name and nothing after it: ${words.slice(1).join(' ')}`;
  if (!ENTRY_NAME.test(name)) return `name must be letters, digits and underscores, a letter first: ${name}`;
  if (RESERVED_NAMES.has(name.toLowerCase())) return `name must not be one of the herd's own tables: ${name}`;
  const line = taken.get(name.toLowerCase());
  return line ? `name must be unique on the page: ${name} stands at line ${line} already` : null;
}

function readEntry(
  kind: EntryKind,
  name: string,
  fence: Fence,
): { entry: Entry | null; problems: PageProblem[] } {
  const { source } = fence;
  const line = fence.from + 1;
  if (kind === 'query') {
    const problem = selectProblem(source);
    if (!problem)
      return { entry: { kind, name, line, source, body: { sql: bareSelect(source) } }, problems: [] };
    const at = line + source.slice(0, problem.offset).split('\n').length;
    return { entry: null, problems: [{ line: at, entry: name, message: problem.message }] };
  }
  const read = readYaml(source, BODY_SCHEMAS[kind]);
  const problems = read.problems.map((each) => ({ ...each, line: line + each.line, entry: name }));
  // The schema was chosen by the kind, which the compiler cannot follow.
  const entry = read.value ? ({ kind, name, line, source, body: read.value } as Entry) : null;
  return { entry, problems };
}

function readFrontMatter(lines: readonly string[]) {
  const end =
    lines[0]?.trimEnd() === '---' ? lines.findIndex((line, at) => at > 0 && line.trimEnd() === '---') : -1;
  if (end < 0) {
    const message =
      'page must begin with its front matter: a line ---, then title: and summary:, then a line ---';
    return { front: null, problems: [{ line: 1, entry: null, message }], bodyFrom: 0 };
  }
  const read = readYaml(lines.slice(1, end).join('\n'), frontMatter);
  const problems = read.problems.map((each) => ({ ...each, line: each.line + 1, entry: null }));
  return { front: read.value, problems, bodyFrom: end + 1 };
}

/**
 * Reads a page: CommonMark with YAML front matter and fenced entries. Never throws for bad text:
 * what cannot be read becomes a `broken` block and a problem with its line.
 */
export function parsePage(text: string): Page {
  const lines = text.replace(/^\uFEFF/, '').split(/\r\n|\r|\n/);
  const { front, problems: first, bodyFrom } = readFrontMatter(lines);
  // Blank lines instead of the front matter keep the line numbers of what follows.
  const body = lines.map((line, at) => (at < bodyFrom ? '' : line));
  const problems: PageProblem[] = [...first];
  const blocks: Block[] = [];
  const entries: Entry[] = [];
  const taken = new Map<string, number>();
  let from = bodyFrom;

  const pushText = (to: number) => {
    const markdown = body.slice(from, to).join('\n');
    if (markdown.trim() !== '') blocks.push({ type: 'text', markdown, line: from + 1 });
  };
  for (const fence of entryFences(body.join('\n'), body)) {
    pushText(fence.from);
    from = fence.to;
    const line = fence.from + 1;
    const words = fence.info.split(/\s+/);
    const name = words[1] ?? '';
    const misnamed = nameProblem(words, taken);
    const read = misnamed
      ? { entry: null, problems: [{ line, entry: name || null, message: misnamed }] }
      : readEntry(words[0] as EntryKind, name, fence);
    if (!misnamed) taken.set(name.toLowerCase(), line);
    problems.push(...read.problems);
    if (!fence.closed) {
      const mark = body[fence.from]?.trim().match(/^(`+|~+)/)?.[0] ?? '```';
      problems.push({ line, entry: name || null, message: `entry must be closed by a line ${mark}` });
    }
    if (read.entry && fence.closed) {
      entries.push(read.entry);
      blocks.push({ type: 'entry', entry: read.entry });
    } else blocks.push({ type: 'broken', source: fence.source, line, info: fence.info });
  }
  pushText(body.length);
  for (const name of front?.print ?? []) {
    if (entries.some((entry) => entry.name === name)) continue;
    problems.push({ line: 1, entry: null, message: `print must name entries of this page: ${name}` });
  }
  return {
    front: front ?? frontMatter.parse({ title: 'Untitled page' }),
    blocks,
    entries,
    problems,
  };
}
