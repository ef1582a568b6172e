import { plainWords } from '../herd/plain.ts';
import { rawCell, type Source, type SourceColumn } from './source.ts';

/** Common practice, in English, German, Dutch, French and Spanish. */
const TOTALS =
  /^(?:grand |sub ?)?(?:totals?|sum|sums|average|averages|mean|count|gesamt|gesamtsumme|summe|mittelwert|totaal|som|gemiddelde|somme|moyenne|suma|media|promedio)$/;

/** Does a row hold the header again? Its filled cells are the headers of their columns, two at least where there are two. */
export function headerRepeats({ columns, hasHeader }: Source): (row: number) => boolean {
  const again = columns.map(codesOfHeader);
  const needed = Math.min(2, columns.length);
  if (!hasHeader || again.filter((codes) => codes.size > 0).length < needed) return () => false;
  return (row) => {
    let same = 0;
    for (const [at, column] of columns.entries()) {
      if (again[at]?.has(column.codes[row] ?? -1)) same++;
      else if (String(rawCell(column, row) ?? '').trim() !== '') return false;
    }
    return same >= needed;
  };
}

function codesOfHeader({ name, distinct }: SourceColumn): Set<number> {
  const header = plainWords(name);
  const codes = new Set<number>();
  distinct.forEach((raw, code) => {
    if (header !== '' && typeof raw === 'string' && plainWords(raw) === header) codes.add(code);
  });
  return codes;
}

/** Is the first filled cell of a row a word for a total? Ask only of rows without a date. */
export function isTotals({ columns, broken }: Source, row: number): boolean {
  const cells = broken.get(row)?.cells;
  for (let at = 0; at < (cells?.length ?? columns.length); at++) {
    const cell = cells ? cells[at] : rawCell(columns[at] as SourceColumn, row);
    const text = String(cell ?? '').trim();
    if (text !== '') return TOTALS.test(plainWords(text));
  }
  return false;
}
