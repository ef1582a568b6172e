import { type SqlToken, sqlTokens } from '../core/sql-tokens.ts';
import { clarityProblem, type SqlProblem } from './sql-clarity.ts';
import { mayCall } from './table-functions.ts';

/** A name found in SQL, with its place; `table` where `name.table` was written. */
interface SqlReference {
  readonly name: string;
  readonly table: string | null;
  readonly offset: number;
  /** It stands where a relation stands: after FROM or JOIN. */
  readonly relation: boolean;
}

const isName = (token: SqlToken | undefined) => token?.type === 'word' || token?.type === 'quoted';
const isWord = (token: SqlToken | undefined, text: string) =>
  token?.type === 'word' && token.text.toLowerCase() === text;
const isSign = (token: SqlToken | undefined, text: string) => token?.type === 'sign' && token.text === text;

/** `$choice` names of an SQL text, each with every place where it stands. */
export function choiceReferences(sql: string): { readonly name: string; readonly offset: number }[] {
  return sqlTokens(sql)
    .filter((token) => token.type === 'choice')
    .map((token) => ({ name: token.text, offset: token.start }));
}

/** Identifiers that may name an entry: not column aliases, not parts after a dot, not the query's own WITH names. */
export function nameReferences(sql: string): SqlReference[] {
  const tokens = sqlTokens(sql);
  const local = new Set<string>();
  tokens.forEach((token, at) => {
    if (isName(token) && isWord(tokens[at + 1], 'as') && isSign(tokens[at + 2], '(')) {
      local.add(token.text.toLowerCase());
    }
  });
  return tokens.flatMap((token, at) => {
    const before = tokens[at - 1];
    if (!isName(token) || local.has(token.text.toLowerCase())) return [];
    if (isSign(before, '.') || isWord(before, 'as')) return [];
    const table = isSign(tokens[at + 1], '.') && isName(tokens[at + 2]) ? tokens[at + 2]!.text : null;
    const relation = isWord(before, 'from') || isWord(before, 'join');
    return [{ name: token.text, table, offset: token.start, relation }];
  });
}

/** The first call of a function that a page may not use. */
function callProblem(tokens: readonly SqlToken[]): SqlProblem | null {
  const called = tokens.find(
    (token, at) => isName(token) && isSign(tokens[at + 1], '(') && !mayCall(token.text),
  );
  return called
    ? { offset: called.start, message: `query must read the herd and this page only: ${called.text}()` }
    : null;
}

/** What is wrong with the body of a query before the engine sees it, with its place; null when nothing is. */
export function selectProblem(sql: string): SqlProblem | null {
  const tokens = sqlTokens(sql);
  const first = tokens.find((token) => !isSign(token, '('));
  if (!first) return { offset: 0, message: 'query must hold one SELECT: it is empty' };
  if (!['select', 'with', 'from'].some((word) => isWord(first, word))) {
    return { offset: first.start, message: `query must be one SELECT: ${first.text}` };
  }
  const end = tokens.findIndex((token) => isSign(token, ';'));
  const next = end < 0 ? undefined : tokens.slice(end).find((token) => !isSign(token, ';'));
  if (next) {
    return {
      offset: next.start,
      message: `query must be one SELECT: a second statement begins with ${next.text}`,
    };
  }
  return callProblem(tokens) ?? clarityProblem(sql);
}

/** What is wrong with one SQL expression (a derived column, a condition) before the engine sees it. */
export function expressionProblem(expression: string): SqlProblem | null {
  const tokens = sqlTokens(expression);
  if (expression.trim() === '') return { offset: 0, message: 'expression must not be empty' };
  let depth = 0;
  for (const token of tokens) {
    if (isSign(token, ';')) return { offset: token.start, message: 'expression must be one expression: ;' };
    if (isSign(token, '(')) depth += 1;
    if (isSign(token, ')')) depth -= 1;
    if (depth < 0) return { offset: token.start, message: 'expression must have a ( for every ): )' };
  }
  if (depth > 0) return { offset: expression.length, message: 'expression must have a ) for every (' };
  return callProblem(tokens) ?? clarityProblem(expression);
}

/** The SELECT without a closing semicolon, so that it can stand inside another statement. */
export function bareSelect(sql: string): string {
  const end = sqlTokens(sql).find((token) => isSign(token, ';'));
  return (end ? sql.slice(0, end.start) : sql).trimEnd();
}
