import { isMap, isNode, isScalar, isSeq, LineCounter, type Node, parseDocument, visit } from 'yaml';
import type { z } from 'zod';

/** A problem inside a YAML text; `line` counts from 1 at its first line. */
interface YamlProblem {
  readonly line: number;
  readonly message: string;
}

type YamlBody<T> =
  | { readonly value: T; readonly problems: readonly [] }
  | { readonly value: null; readonly problems: readonly YamlProblem[] };

type Path = readonly PropertyKey[];
type Issue = z.core.$ZodIssue;

function parse(source: string) {
  const lines = new LineCounter();
  const document = parseDocument(source, { lineCounter: lines, prettyErrors: false });
  const lineAt = (offset: number) => Math.max(1, lines.linePos(offset).line);
  return { document, lineAt };
}

type Parsed = ReturnType<typeof parse>;

/** The nearest node to a path, for an error about something that may be absent. */
function offsetOf({ document }: Parsed, path: Path, key?: string): number {
  let node: unknown = document.contents;
  let offset = document.contents?.range?.[0] ?? 0;
  for (const step of key === undefined ? path : [...path, key]) {
    if (isMap(node)) {
      const pair = node.items.find((item) => isScalar(item.key) && item.key.value === step);
      if (!pair) break;
      offset = (pair.key as Node).range?.[0] ?? offset;
      node = pair.value;
    } else if (isSeq(node)) {
      node = node.items[Number(step)];
      if (!isNode(node)) break;
      offset = node.range?.[0] ?? offset;
    } else break;
  }
  return offset;
}

/** Line of the value at a path, or of the nearest thing around it. */
export function yamlLine(source: string, path: Path): number {
  const parsed = parse(source);
  return parsed.lineAt(offsetOf(parsed, path));
}

function shown(value: unknown): string {
  if (value === undefined) return 'missing';
  const text = typeof value === 'string' ? value : (JSON.stringify(value) ?? String(value));
  return text.length > 60 ? `${text.slice(0, 60)}…` : text;
}

function valueAt(value: unknown, path: Path): unknown {
  return path.reduce<unknown>(
    (inner, step) => (inner !== null && typeof inner === 'object' ? Reflect.get(inner, step) : undefined),
    value,
  );
}

const TYPE_WORDS: Record<string, string> = {
  string: 'a text',
  number: 'a number',
  int: 'a whole number',
  boolean: 'true or false',
  array: 'a list',
  object: 'a mapping of keys to values',
  record: 'a mapping of keys to values',
};
const typeWord = (type: string) => TYPE_WORDS[type] ?? type;

/** Of a union's branches, the issues of the one that came furthest; none when all failed at its root. */
function bestBranch(issue: Extract<Issue, { code: 'invalid_union' }>): Issue[] | null {
  const deep = issue.errors.filter((branch) =>
    branch.every((each) => each.path.length > 0 || each.code === 'unrecognized_keys'),
  );
  return deep.length > 0 ? [...deep].sort((a, b) => a.length - b.length)[0]! : null;
}

function flatten(issues: readonly Issue[], base: Path = []): Issue[] {
  return issues.flatMap((issue) => {
    const placed = { ...issue, path: [...base, ...issue.path] } as Issue;
    if (placed.code !== 'invalid_union' || placed.errors.length === 0) return [placed];
    const branch = bestBranch(placed);
    return branch ? flatten(branch, placed.path) : [placed];
  });
}

function messageOf(issue: Issue, value: unknown): string {
  const name = issue.path.length > 0 ? issue.path.map(String).join('.') : 'entry';
  const given = shown(valueAt(value, issue.path));
  const isOwn = /^[a-z]/.test(issue.message);
  if (issue.code === 'unrecognized_keys' || issue.code === 'custom') return `${name} ${issue.message}`;
  if (isOwn) return `${name} ${issue.message}: ${given}`;
  if (issue.code === 'invalid_type') return `${name} must be ${typeWord(issue.expected)}: ${given}`;
  if (issue.code === 'invalid_value') return `${name} must be one of ${issue.values.join(', ')}: ${given}`;
  if (issue.code === 'too_small') return `${name} must be at least ${issue.minimum}: ${given}`;
  if (issue.code === 'too_big') return `${name} must be at most ${issue.maximum}: ${given}`;
  if (issue.code === 'invalid_union') {
    const options = (issue as { options?: readonly unknown[] }).options;
    if (options) return `${name} must be one of ${options.join(', ')}: ${given}`;
    const wanted = issue.errors.flatMap((branch) =>
      branch.flatMap((each) => (each.code === 'invalid_type' ? [typeWord(each.expected)] : [])),
    );
    return `${name} must be ${[...new Set(wanted)].join(' or ') || 'something else'}: ${given}`;
  }
  return `${name} ${issue.message.toLowerCase()}: ${given}`;
}

/** No entry needs one thing in two places, and a few lines of them can stand for more than any machine holds. */
function firstAlias({ document, lineAt }: Parsed): YamlProblem | null {
  let found: YamlProblem | null = null;
  visit(document, {
    Alias(_, { source, range }) {
      found = { line: lineAt(range?.[0] ?? 0), message: `YAML must not use an alias: *${source}` };
      return visit.BREAK;
    },
  });
  return found;
}

/** Reads YAML and checks it: a value, or problems each with the line where the thing stands. */
export function readYaml<Schema extends z.ZodType>(
  source: string,
  schema: Schema,
): YamlBody<z.output<Schema>> {
  const parsed = parse(source);
  if (parsed.document.errors.length > 0) {
    const problems = parsed.document.errors.map((error) => ({
      line: parsed.lineAt(error.pos[0]),
      message: `YAML cannot be read: ${error.message.charAt(0).toLowerCase()}${error.message.slice(1)}`,
    }));
    return { value: null, problems };
  }
  const alias = firstAlias(parsed);
  if (alias !== null) return { value: null, problems: [alias] };
  const raw: unknown = parsed.document.toJS() ?? {};
  const checked = schema.safeParse(raw);
  if (checked.success) return { value: checked.data, problems: [] };
  const problems = flatten(checked.error.issues).map((issue) => ({
    line: parsed.lineAt(
      offsetOf(parsed, issue.path, issue.code === 'unrecognized_keys' ? issue.keys[0] : undefined),
    ),
    message: messageOf(issue, raw),
  }));
  return { value: null, problems };
}
