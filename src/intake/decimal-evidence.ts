import type { SourceColumn } from './source.ts';
import type { DecimalMark } from './values/number-value.ts';

/** Which decimal mark the measures of a file use, by counting `85,3` against `85.3`. */
export function decimalReading(columns: readonly SourceColumn[]): { decimal: DecimalMark; why: string } {
  let comma = 0;
  let point = 0;
  for (const column of columns) {
    if (column.type !== 'text') continue;
    column.distinct.forEach((raw, code) => {
      const text = String(raw ?? '').trim();
      if (/^\d+,\d{1,2}(?!\d)/.test(text)) comma += column.counts[code] ?? 0;
      else if (/^\d+\.\d+/.test(text)) point += column.counts[code] ?? 0;
    });
  }
  const decimal = comma > point ? 'comma' : 'point';
  if (comma === 0) return { decimal, why: '' }; // the ordinary needs no words
  const commas = `${comma} measures with a decimal comma`;
  return { decimal, why: point > 0 ? `${commas}, ${point} with a decimal point; both are read` : commas };
}
