/** A piece of an SQL text as the engine's own reader cuts it. Together they are the whole text. */
export interface SqlLexeme {
  readonly type: 'space' | 'comment' | 'string' | 'number' | 'word' | 'quoted' | 'choice' | 'sign';
  readonly start: number;
  readonly end: number;
  /** False for a string, a comment or a quoted name that the text ends in. */
  readonly closed: boolean;
}

// What the engine takes for a space, in ASCII and beyond; every other character beyond ASCII may be part of a name.
const SPACE = String.raw` \t\n\r\f\v\u00a0\u2000-\u200d\u202f\u205f\u2060\u3000\ufeff`;
const LETTER = String.raw`A-Za-z_\u0080-\u009f\u00a1-\u1fff\u200e-\u202e\u2030-\u205e\u2061-\u2fff\u3001-\ufefe\uff00-\u{10ffff}`;
const ESCAPED = String.raw`(?:[^'\\]|''|\\[\s\S])*`;
// A string goes on in another one where a line ends between them, and in the same manner.
const NEXT_LINE = String.raw`(?:[ \t\f\v]|--[^\n\r]*)*[\n\r](?:[${SPACE}]|--[^\n\r]*[\n\r])*`;

// One alternative a lexical form, the longer before what it begins with (PostgreSQL's lexical rules, which the engine
// has taken over: strings with backslashes after E only, dollar quotes, block comments within block comments).
const LEXEME = new RegExp(
  [
    `(?<space>[${SPACE}]+)`,
    String.raw`(?<line>--[^\n\r]*)`,
    String.raw`(?<block>\/\*)`,
    `(?<escaped>[eE]'${ESCAPED}(?:'(?:${NEXT_LINE}'${ESCAPED}')*|$))`,
    `(?<string>'(?:[^']|'')*(?:'|$))`,
    String.raw`(?<dollar>\$(?<tag>(?:[${LETTER}][${LETTER}0-9]*)?)\$[\s\S]*?(?:\$\k<tag>\$|$))`,
    String.raw`(?<number>0[xX][0-9a-fA-F_]+|\d[\d_]*(?:\.[\d_]*)?(?:[eE][+-]?\d[\d_]*)?)`,
    '(?<quoted>"(?:[^"]|"")*(?:"|$))',
    String.raw`(?<choice>\$[A-Za-z_]\w*)`,
    `(?<word>[${LETTER}][${LETTER}0-9$]*)`,
    String.raw`(?<sign>[\s\S])`,
  ].join('|'),
  'uy',
);

/** Cuts a text up. Linear in its length for texts that people write; never throws. */
export function sqlLexemes(sql: string): SqlLexeme[] {
  const lexemes: SqlLexeme[] = [];
  for (let start = 0; start < sql.length; ) {
    LEXEME.lastIndex = start;
    const match = LEXEME.exec(sql);
    const groups = match?.groups as Record<string, string | undefined>;
    const end = groups.block === undefined ? LEXEME.lastIndex : blockEnd(sql, start);
    const text = sql.slice(start, end);
    lexemes.push({ ...read(groups, text), start, end });
    start = end;
  }
  return lexemes;
}

function read(groups: Record<string, string | undefined>, text: string): Pick<SqlLexeme, 'type' | 'closed'> {
  if (groups.space !== undefined) return { type: 'space', closed: true };
  if (groups.line !== undefined) return { type: 'comment', closed: true };
  if (groups.block !== undefined) return { type: 'comment', closed: isBlockClosed(text) };
  if (groups.escaped !== undefined) return { type: 'string', closed: isEscapedClosed(text) };
  if (groups.string !== undefined) return { type: 'string', closed: isQuoteClosed(text, "'") };
  if (groups.dollar !== undefined) {
    const mark = `$${groups.tag}$`;
    return { type: 'string', closed: text.length >= 2 * mark.length && text.endsWith(mark) };
  }
  if (groups.number !== undefined) return { type: 'number', closed: true };
  if (groups.quoted !== undefined) return { type: 'quoted', closed: isQuoteClosed(text, '"') };
  if (groups.choice !== undefined) return { type: 'choice', closed: true };
  return { type: groups.word !== undefined ? 'word' : 'sign', closed: true };
}

/** Where a block comment that begins at `start` ends, with all that are inside it. */
function blockEnd(sql: string, start: number): number {
  const mark = /\/\*|\*\//g;
  mark.lastIndex = start;
  let depth = 0;
  for (let found = mark.exec(sql); found; found = mark.exec(sql)) {
    depth += found[0] === '/*' ? 1 : -1;
    if (depth === 0) return mark.lastIndex;
  }
  return sql.length;
}

const isBlockClosed = (text: string): boolean => {
  const opened = text.match(/\/\*|\*\//g) ?? [];
  return opened.reduce((depth, mark) => depth + (mark === '/*' ? 1 : -1), 0) === 0;
};

/** A quote ends a text unless it is one of a pair, of which there can be any number. */
const isQuoteClosed = (text: string, quote: string): boolean =>
  text.length > 1 &&
  text
    .slice(1)
    .replaceAll(quote + quote, '')
    .endsWith(quote);

const isEscapedClosed = (text: string): boolean =>
  new RegExp(`^[eE]'${ESCAPED}(?:'(?:${NEXT_LINE}'${ESCAPED}')*)$`, 'u').test(text);
