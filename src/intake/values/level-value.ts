import type { ColumnDescription } from '../../herd/column.ts';
import { plain, plainWords } from '../../herd/plain.ts';
import { fault, type Parsed } from './parsed.ts';

/** A reader for a coded column: the level itself, or one of its everyday words. */
export function levelParser(described: ColumnDescription): (text: string) => Parsed {
  const byWord = new Map<string, string>();
  for (const level of described.levels ?? []) {
    for (const word of [level, ...(described.words?.[level] ?? [])]) byWord.set(plainWords(word), level);
  }
  const reason = `not one of the words for ${described.label.toLowerCase()}`;
  return (text) => byWord.get(plainWords(text)) ?? byWord.get(plain(text)) ?? fault(reason);
}
