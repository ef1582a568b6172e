import { plain } from '../../herd/plain.ts';
import { GRADE_WORDS } from '../../herd/vocabularies.ts';
import { type Fault, fault } from './parsed.ts';

const GRADE_BY_WORD = new Map(
  Object.entries(GRADE_WORDS).flatMap(([grade, words]) =>
    words.map((word) => [word, Number(grade)] as const),
  ),
);

/** Grade 0–3: `2`, `2.0`, `++`, `moderate`, `grade 2`, `2/3`. The limits of the column are checked after this. */
export function parseGrade(text: string): number | Fault {
  const word = plain(text)
    .replace(/^(?:grade|gr|g|score)\b[.: ]*(?=.)/, '')
    // On a scale of three only: 2 of 5 is another scale's.
    .replace(/^([0-3]) ?(?:\/|of) ?3$/, '$1');
  if (/^-?\d+(?:[.,]0+)?$/.test(word)) return Number(word.replace(',', '.'));
  return GRADE_BY_WORD.get(word) ?? fault('not a grade');
}
