/** A word, a quoted identifier, a `$name` or a sign of an SQL text; strings, numbers and comments are left out. */
export interface SqlToken {
  readonly type: 'word' | 'quoted' | 'choice' | 'sign';
  /** For `quoted` and `choice` without the quotes and the dollar sign. */
  readonly text: string;
  readonly start: number;
  readonly end: number;
}

// One alternative a lexical form; what is skipped comes first, so that nothing is found inside it.
const LEXEME = new RegExp(
  [
    String.raw`(?<skip>--[^\n]*|\/\*[\s\S]*?(?:\*\/|$)|[eE]?'(?:[^']|'')*(?:'|$)|\$(?<tag>[A-Za-z_]*)\$[\s\S]*?(?:\$\k<tag>\$|$)|\d[\w.]*|\s+)`,
    '"(?<quoted>(?:[^"]|"")*)"',
    String.raw`\$(?<choice>[A-Za-z_]\w*)`,
    String.raw`(?<word>[\p{L}_][\p{L}\p{N}_$]*)`,
    String.raw`(?<sign>[\s\S])`,
  ].join('|'),
  'gu',
);

export function sqlTokens(sql: string): SqlToken[] {
  const tokens: SqlToken[] = [];
  for (const match of sql.matchAll(LEXEME)) {
    const { quoted, choice, word, sign } = match.groups as Record<string, string | undefined>;
    const place = { start: match.index, end: match.index + match[0].length };
    if (quoted !== undefined) tokens.push({ type: 'quoted', text: quoted.replaceAll('""', '"'), ...place });
    else if (choice !== undefined) tokens.push({ type: 'choice', text: choice, ...place });
    else if (word !== undefined) tokens.push({ type: 'word', text: word, ...place });
    else if (sign !== undefined) tokens.push({ type: 'sign', text: sign, ...place });
  }
  return tokens;
}
