import { cellKind } from './cell-kind.ts';
import { headerMatches } from './header-match.ts';

/**
 * Does the first line of a file look like one of its rows? Headers are words; a row has a date, one foot, numbers.
 * A table with a column for each foot (`LF, RF, …`), year or day has such cells in its header, beside words that
 * the record knows.
 */
export function looksLikeRow(cells: readonly string[]): boolean {
  const kinds = cells.map(cellKind);
  const count = (kind: string): number => kinds.filter((k) => k === kind).length;
  const dates = count('date');
  const feet = count('foot');
  const foot = feet === 1 ? 1 : 0;
  const told = dates + foot + count('number');
  const filled = kinds.length - count('blank');
  const known = cells.filter((cell, i) => kinds[i] === 'text' && headerMatches(cell).length > 0).length;
  if (known === 0 && feet <= 1) return dates > 0 ? told >= 2 : told >= 2 && told >= filled / 2;
  return dates === 1 && foot === 1 && told > known;
}
