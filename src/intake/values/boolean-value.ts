import { plain } from '../../herd/plain.ts';
import { BOOLEAN_WORDS } from '../../herd/vocabularies.ts';
import { type Fault, fault } from './parsed.ts';

const BOOLEAN_BY_WORD = new Map<string, boolean>([
  ...BOOLEAN_WORDS.true.map((word) => [word, true] as const),
  ...BOOLEAN_WORDS.false.map((word) => [word, false] as const),
]);

/** `yes`, `ja`, `x`, `1`, `no`, `nein`, `0`, … */
export function parseBoolean(text: string): boolean | Fault {
  return BOOLEAN_BY_WORD.get(plain(text)) ?? fault('not yes or no');
}
