import { sqlTokens } from '../core/sql-tokens.ts';
import { literal } from '../engine/sql-text.ts';

/** Puts each `$choice` of a query's SQL in place as a literal. Throws on a choice without a value. */
export function fillParams(sql: string, params: Readonly<Record<string, string | number>>): string {
  const values = new Map(Object.entries(params).map(([name, value]) => [name.toLowerCase(), value]));
  let text = '';
  let from = 0;
  for (const token of sqlTokens(sql)) {
    if (token.type !== 'choice') continue;
    const value = values.get(token.text.toLowerCase());
    if (value === undefined) throw new Error(`choice must have a value: $${token.text}`);
    text += sql.slice(from, token.start) + literal(value);
    from = token.end;
  }
  return text + sql.slice(from);
}
