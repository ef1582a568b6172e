import { plainWords } from '../herd/plain.ts';
import { FEET, FOOT_WORDS } from '../herd/vocabularies.ts';
import { dateShape } from './values/date-value.ts';
import { isFraction } from './values/length-value.ts';
import { parseNumber } from './values/number-value.ts';
import { isFault } from './values/parsed.ts';

export type CellKind = 'blank' | 'date' | 'foot' | 'year' | 'number' | 'text';

const feet = new Set(FEET.flatMap((foot) => FOOT_WORDS[foot]));

/** Dates, feet and numbers are shorter. */
const LONGEST_TOLD = 100;

/** What a cell is by its look, without knowing its column. */
export function cellKind(cell: string): CellKind {
  const text = cell.trim();
  if (text === '') return 'blank';
  if (text.length > LONGEST_TOLD) return 'text';
  const { kind } = dateShape(text);
  if (kind === 'sure' || kind === 'numeric') return 'date';
  if (feet.has(plainWords(text))) return 'foot';
  if (/^(?:19|20)\d{2}$/.test(text)) return 'year';
  if (isFraction(text)) return 'number';
  const bare = text.replace(/\s*(?:mm|cm|in|inch|inches|"|″|°)$/i, '');
  return isFault(parseNumber(bare, 'point')) ? 'text' : 'number';
}
