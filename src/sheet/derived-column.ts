import { sqlTokens } from '../core/sql-tokens.ts';

export interface DerivedColumn {
  readonly name: string;
  readonly label: string;
  readonly expression: string;
  readonly on: 'foot_visit' | 'trim_cycle';
  readonly unit?: string;
  readonly digits?: number;
}

/** A derived column that cannot be, with where in its text. */
export interface ExpressionFault {
  readonly message: string;
  /** Characters from the start of the expression; null where the engine did not say. */
  readonly offset: number | null;
}
const NAME = /^[a-z][a-z0-9_]{0,62}$/;
/** A subquery could read anything, and what it reads changes with the page: a column rests on its own rows. */
const SUBQUERIES = [
  'select',
  'with',
  'from',
  'values',
  'table',
  'pivot',
  'unpivot',
  'show',
  'describe',
  'summarize',
];
const CHANGING = [
  'random',
  'uuid',
  'gen_random_uuid',
  'uuidv4',
  'uuidv7',
  'nextval',
  'setseed',
  'now',
  'today',
];

/** Whether a name can be a derived column’s; null where it can. */
export function nameFault(name: string, taken: ReadonlySet<string>): string | null {
  if (!NAME.test(name)) {
    return `a name is made of small letters, digits and _, beginning with a letter: ${name === '' ? 'it is empty' : name}`;
  }
  return taken.has(name) ? `there is a column of this name already: ${name}` : null;
}

/** What keeps a text from being one expression over the columns of a row, before the engine sees it. */
export function expressionFault(expression: string): ExpressionFault | null {
  const tokens = sqlTokens(expression);
  const at = (offset: number, message: string): ExpressionFault => ({ message, offset });
  if (tokens.length === 0) return at(0, 'write an expression, such as toe_before_mm - toe_after_mm');
  let depth = 0;
  for (const [k, token] of tokens.entries()) {
    const { type, text, start } = token;
    const word = text.toLowerCase();
    const opens = k === 0 || (tokens[k - 1]!.type === 'sign' && tokens[k - 1]!.text === '(');
    if (type === 'sign' && text === '(') depth += 1;
    if (type === 'sign' && text === ')') depth -= 1;
    if (depth < 0) return at(start, 'there is a ) without its (');
    if (type === 'sign' && text === ';') return at(start, 'a column is one expression: take the ; away');
    if (type === 'sign' && text === ',' && depth === 0) {
      return at(start, 'a column is one expression: the comma begins a second one');
    }
    if (type === 'choice') return at(start, `a choice of a page cannot stand in a column: $${text}`);
    if (type === 'word' && (word === 'select' || (opens && SUBQUERIES.includes(word)))) {
      return at(
        start,
        'a column is worked out from the columns of its own row, or of a window: no query inside it',
      );
    }
    const isCalled = tokens[k + 1]?.type === 'sign' && tokens[k + 1]?.text === '(';
    if (type === 'word' && isCalled && CHANGING.includes(word)) {
      return at(start, `${word}() gives another value each time`);
    }
  }
  return depth > 0 ? at(expression.length, 'a ( has no )') : null;
}

/**
 * Whether a column looks no further than its own horse: every window in it is parted by `horse_id` or `foot_key`. Then a
 * change to one horse leaves it as it was for all others.
 */
export function staysWithHorse(expression: string): boolean {
  const tokens = sqlTokens(expression);
  const wordAt = (k: number): string => {
    const token = tokens[k];
    return token && (token.type === 'word' || token.type === 'quoted') ? token.text.toLowerCase() : '';
  };
  return tokens.every((_, k) => {
    if (wordAt(k) !== 'over') return true;
    if (wordAt(k + 2) !== 'partition' || wordAt(k + 3) !== 'by') return false;
    for (let at = k + 4, depth = 0; at < tokens.length; at += 1) {
      const { type, text } = tokens[at]!;
      if (type === 'sign' && text === '(') depth += 1;
      if (type === 'sign' && text === ')') depth -= 1;
      if (depth < 0 || (depth === 0 && ['order', 'rows', 'range', 'groups'].includes(wordAt(at))))
        return false;
      if (depth > 0) continue;
      const ends = [',', ')'].includes(tokens[at + 1]?.text ?? '') || wordAt(at + 1) !== '';
      const begins = tokens[at - 1]!.text === ',' || wordAt(at - 1) === 'by';
      if (begins && ends && ['horse_id', 'foot_key'].includes(wordAt(at))) return true;
    }
    return false;
  });
}

/**
 * Derived columns in an order in which each comes after those it uses. Throws where they use one another in a circle.
 */
export function inOrder(columns: readonly DerivedColumn[]): DerivedColumn[] {
  const byName = new Map(columns.map((column) => [column.name, column]));
  const done = new Set<string>();
  const ordered: DerivedColumn[] = [];
  const visit = (column: DerivedColumn, way: readonly string[]): void => {
    if (done.has(column.name)) return;
    if (way.includes(column.name)) {
      const circle = [...way.slice(way.indexOf(column.name)), column.name].join(' → ');
      throw new Error(`derived columns must not use one another in a circle: ${circle}`);
    }
    for (const name of usedNames(column.expression)) {
      const used = byName.get(name);
      if (used) visit(used, [...way, column.name]);
    }
    done.add(column.name);
    ordered.push(column);
  };
  for (const column of columns) visit(column, []);
  return ordered;
}

/** Names in an expression, in small letters. */
export function usedNames(expression: string): Set<string> {
  return new Set(
    sqlTokens(expression).flatMap(({ type, text }) =>
      type === 'word' || type === 'quoted' ? [text.toLowerCase()] : [],
    ),
  );
}

/**
 * The engine’s message about an expression that began on line `firstLine` of its SQL, in plainer words and with the
 * place in the expression.
 */
export function engineFault(message: string, expression: string, firstLine: number): ExpressionFault {
  const [told = '', place] = splitPlace(message);
  return { message: plainMessage(told), offset: place ? offsetOf(place, expression, firstLine) : null };
}

interface Place {
  readonly line: number;
  /** The line as the engine shows it, cut with … where it is long. */
  readonly shown: string;
  readonly caret: number;
}

function splitPlace(message: string): [string, Place | null] {
  const match = /\n*LINE (\d+): ([^\n]*)\n( *)\^/.exec(message);
  if (!match) return [message, null];
  const prefix = `LINE ${match[1]}: `.length;
  const place = { line: Number(match[1]), shown: match[2]!, caret: match[3]!.length - prefix };
  return [message.slice(0, match.index), place];
}

function offsetOf({ line, shown, caret }: Place, expression: string, firstLine: number): number | null {
  const lines = expression.split('\n');
  const at = line - firstLine;
  if (at < 0) return null;
  // What is missing at the end is found missing after it.
  if (at >= lines.length) return expression.trimEnd().length;
  const before = lines.slice(0, at).reduce((sum, { length }) => sum + length + 1, 0);
  const cut = shown.startsWith('...') ? 3 : 0;
  const body = shown.slice(cut).replace(/\.\.\.$/, '');
  const from = cut === 0 ? 0 : Math.max(0, lines[at]!.indexOf(body.trim()));
  const lead = cut === 0 ? 0 : cut + (body.length - body.trimStart().length);
  return Math.min(before + Math.max(0, from + caret - lead), expression.length);
}

function plainMessage(told: string): string {
  const bare = told.replace(/^(?:[A-Z]\w+ )*Error: /, '');
  const missing = /^Referenced column "([^"]*)" not found/.exec(bare)?.[1];
  if (missing !== undefined) {
    const near = /Candidate bindings: ([^\n]*)/.exec(bare)?.[1]?.replaceAll('"', '');
    return `there is no column ${missing}${near ? `; near to it: ${near}` : ''}`;
  }
  const unknown = /^Scalar Function with name "?([^"\s]*)"? (?:does not exist|is not in)/.exec(bare)?.[1];
  if (unknown !== undefined) {
    const near = /Did you mean "([^"]*)"/.exec(bare)?.[1];
    return `there is no function ${unknown} here${near ? `; did you mean ${near}?` : ''}`;
  }
  if (/GROUP BY clause/.test(bare)) {
    return 'a summary over rows, such as avg(), needs OVER (…) to say over which rows';
  }
  return bare.split('\n')[0]!;
}
