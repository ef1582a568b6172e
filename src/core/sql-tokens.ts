import { sqlLexemes } from './sql-lexemes.ts';

/** A word, a quoted identifier, a `$name` or a sign of an SQL text; strings, numbers and comments are left out. */
export interface SqlToken {
  readonly type: 'word' | 'quoted' | 'choice' | 'sign';
  /** For `quoted` and `choice` without the quotes and the dollar sign. */
  readonly text: string;
  readonly start: number;
  readonly end: number;
}

export function sqlTokens(sql: string): SqlToken[] {
  return sqlLexemes(sql).flatMap(({ type, start, end, closed }): SqlToken[] => {
    const text = sql.slice(start, end);
    if (type === 'word' || type === 'sign') return [{ type, text, start, end }];
    if (type === 'choice') return [{ type, text: text.slice(1), start, end }];
    if (type === 'quoted' && closed) {
      return [{ type, text: text.slice(1, -1).replaceAll('""', '"'), start, end }];
    }
    return [];
  });
}
