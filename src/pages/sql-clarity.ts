import { type SqlLexeme, sqlLexemes } from '../core/sql-lexemes.ts';

/** Something wrong with an SQL text before the engine sees it, with its place. */
export interface SqlProblem {
  readonly offset: number;
  readonly message: string;
}

const NAMES: Partial<Record<SqlLexeme['type'], string>> = {
  string: 'a text',
  comment: 'a comment',
  quoted: 'a name in quotes',
};

/**
 * What makes an SQL text unclear: where the engine may read it otherwise than we do, what we judge is not what runs. Null
 * where both see the same.
 */
export function clarityProblem(sql: string): SqlProblem | null {
  const nothing = sql.indexOf('\0');
  if (nothing >= 0)
    return { offset: nothing, message: 'query must hold no character 0: the text ends at it' };
  const lexemes = sqlLexemes(sql);
  for (const [at, { type, start, end, closed }] of lexemes.entries()) {
    const text = sql.slice(start, end);
    if (!closed) return { offset: start, message: `query must close ${NAMES[type]} that it opens` };
    if (type === 'sign' && text === '$') {
      return { offset: start, message: 'query must have the name of a choice after each $' };
    }
    if (type === 'sign' && /\p{Cc}/u.test(text)) {
      const code = text.charCodeAt(0).toString(16).padStart(4, '0').toUpperCase();
      return { offset: start, message: `query must hold no control characters: U+${code}` };
    }
    if (type === 'number' && lexemes[at + 1]?.type === 'string') {
      return { offset: start, message: `query must have a space between a number and a text: ${text}` };
    }
  }
  return null;
}
