import { chartData } from '../plots/chart-spec.ts';
import type { Entry, PageProblem } from './page.ts';
import { choiceReferences, nameReferences } from './sql-references.ts';
import { yamlLine } from './yaml-body.ts';

export interface DependencyGraph {
  /** For each entry, the entries it reads, as they are spelled where they are declared. */
  readonly uses: ReadonlyMap<string, readonly string[]>;
  /** Every entry that is in no ring, each after all that it reads; otherwise as on the page. */
  readonly order: readonly string[];
  /** References to nothing or to the wrong kind, and rings. */
  readonly problems: readonly PageProblem[];
}

/** One mention of another entry, where it stands. `wants` says what may stand there. */
interface Mention {
  readonly name: string;
  readonly table: string | null;
  readonly line: number;
  readonly wants: 'choice' | 'data' | 'analysis' | 'column';
}

const lower = (name: string) => name.toLowerCase();

/** Strings of the form `$name` in a YAML value, with the path to each. */
function choicePaths(value: unknown, path: PropertyKey[] = []): { name: string; path: PropertyKey[] }[] {
  if (typeof value === 'string') {
    const name = choiceName(value);
    return name === null ? [] : [{ name, path }];
  }
  if (value === null || typeof value !== 'object') return [];
  return Object.entries(value).flatMap(([key, inner]) =>
    choicePaths(inner, [...path, Array.isArray(value) ? Number(key) : key]),
  );
}

/** The choice that an option of an analysis refers to: the whole text is `$name`. */
export function choiceName(text: string): string | null {
  return /^\$([A-Za-z_]\w*)$/.exec(text)?.[1] ?? null;
}

const dataMention = (entry: Entry, data: string, path: PropertyKey[]): Mention => {
  const [name = '', table = null] = data.split('.');
  return { name, table, line: entry.line + yamlLine(entry.source, path), wants: 'data' };
};

function sqlMentions(entry: Entry & { kind: 'query' }, byName: ReadonlyMap<string, Entry>): Mention[] {
  const { sql } = entry.body;
  const lineAt = (offset: number) => entry.line + sql.slice(0, offset).split('\n').length;
  const choices = choiceReferences(sql).map(
    ({ name, offset }): Mention => ({ name, table: null, line: lineAt(offset), wants: 'choice' }),
  );
  const names = nameReferences(sql).flatMap(({ name, table, offset, relation }): Mention[] => {
    const target = byName.get(lower(name));
    if (target?.kind === 'column' && !relation)
      return [{ name, table: null, line: lineAt(offset), wants: 'column' }];
    // A column may well be called as its query or as an analysis is: only a place for a relation makes a ring.
    const counts =
      target?.kind === 'query' ? target !== entry || relation : target?.kind === 'analysis' && table !== null;
    return counts ? [{ name, table, line: lineAt(offset), wants: 'data' }] : [];
  });
  return [...choices, ...names];
}

/** Derived columns of the page that a text names; each at the entry's own line. */
function columnMentions(entry: Entry, text: string, byName: ReadonlyMap<string, Entry>): Mention[] {
  return nameReferences(text)
    .filter(({ name }) => byName.get(lower(name))?.kind === 'column')
    .map(({ name }) => ({ name, table: null, line: entry.line, wants: 'column' }));
}

function mentionsOf(entry: Entry, byName: ReadonlyMap<string, Entry>): Mention[] {
  switch (entry.kind) {
    case 'query':
      return sqlMentions(entry, byName);
    case 'choice': {
      const options = entry.body.kind === 'list' ? entry.body.options : [];
      return Array.isArray(options) ? [] : [dataMention(entry, options.of, ['options', 'of'])];
    }
    case 'analysis':
      return [
        ...choicePaths(entry.body).map(
          ({ name, path }): Mention => ({
            name,
            table: null,
            line: entry.line + yamlLine(entry.source, path),
            wants: 'choice',
          }),
        ),
        ...columnMentions(entry, JSON.stringify(entry.body), byName),
      ];
    case 'findings': {
      const line = entry.line + yamlLine(entry.source, ['of']);
      return [{ name: entry.body.of, table: null, line, wants: 'analysis' }];
    }
    case 'table':
      return [dataMention(entry, entry.body.of, ['of'])];
    case 'chart':
      return chartData(entry.body).map((data) => {
        const at = entry.body.marks.findIndex((mark) => mark.data === data);
        return dataMention(
          entry,
          data,
          data === entry.body.data || at < 0 ? ['data'] : ['marks', at, 'data'],
        );
      });
    case 'column':
      return columnMentions(entry, entry.body.expression, byName);
    case 'question':
      return [
        dataMention(entry, entry.body.herd, ['herd']),
        dataMention(entry, entry.body.naive.of, ['naive', 'of']),
        dataMention(entry, entry.body.right.of, ['right', 'of']),
      ];
    case 'samples':
      return [dataMention(entry, entry.body.of, ['of'])];
  }
}

/** What is wrong with a mention of `target`; null when nothing is. */
function mentionProblem(mention: Mention, target: Entry | undefined, names: string): string | null {
  const shown = mention.wants === 'choice' ? `$${mention.name}` : mention.name;
  if (!target) {
    const kind = mention.wants === 'data' ? 'entry' : mention.wants;
    return `no ${kind} of this page is called ${shown}${names ? `: there are ${names}` : ''}`;
  }
  if (mention.wants === 'data') {
    if (target.kind === 'query') return null;
    if (target.kind !== 'analysis')
      return `${shown} must be a query or a table of an analysis: ${target.kind}`;
    return mention.table === null
      ? `${shown} must say which table of the analysis: write ${shown}.estimates for the first`
      : null;
  }
  return target.kind === mention.wants ? null : `${shown} must be of kind ${mention.wants}: ${target.kind}`;
}

/** Rings among entries, each once, as the names along it. */
function rings(uses: ReadonlyMap<string, readonly string[]>): string[][] {
  const found: string[][] = [];
  const finished = new Set<string>();
  const walk = (name: string, trail: readonly string[]): void => {
    const at = trail.indexOf(name);
    if (at >= 0) {
      found.push(trail.slice(at));
      return;
    }
    if (finished.has(name)) return;
    for (const used of uses.get(name) ?? []) walk(used, [...trail, name]);
    finished.add(name);
  };
  for (const name of uses.keys()) walk(name, []);
  return found;
}

/** Who reads whom on a page. Unknown names, wrong kinds and rings come back as problems, never as errors. */
export function dependencyGraph(
  entries: readonly Entry[],
  /** Lower-case names of entries that stand on the page but could not be read. */
  unread: ReadonlySet<string> = new Set(),
): DependencyGraph {
  const byName = new Map(entries.map((entry) => [lower(entry.name), entry]));
  const problems: PageProblem[] = [];
  const uses = new Map<string, readonly string[]>();
  for (const entry of entries) {
    const found = new Set<string>();
    for (const mention of mentionsOf(entry, byName)) {
      const target = byName.get(lower(mention.name));
      const wanted = (kind: Entry['kind']) =>
        mention.wants === 'data' ? kind === 'query' || kind === 'analysis' : kind === mention.wants;
      const names = entries.filter((each) => each !== entry && wanted(each.kind)).map((each) => each.name);
      const message =
        !target && unread.has(lower(mention.name))
          ? `${mention.name} could not be read itself`
          : mentionProblem(mention, target, names.join(', '));
      if (message) problems.push({ line: mention.line, entry: entry.name, message });
      else if (target) found.add(target.name);
    }
    uses.set(entry.name, [...found]);
  }
  const ringed = new Set<string>();
  for (const ring of rings(uses)) {
    const message = `entries must not read one another in a ring: ${[...ring, ring[0]].join(' → ')}`;
    for (const name of ring) {
      if (!ringed.has(name)) problems.push({ line: byName.get(lower(name))!.line, entry: name, message });
      ringed.add(name);
    }
  }
  const order: string[] = [];
  const place = (name: string): void => {
    if (order.includes(name) || ringed.has(name)) return;
    for (const used of uses.get(name) ?? []) place(used);
    order.push(name);
  };
  for (const entry of entries) place(entry.name);
  return { uses, order, problems: problems.sort((a, b) => a.line - b.line) };
}
