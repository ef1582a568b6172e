import { type Fault, fault } from './parsed.ts';

export type DecimalMark = 'point' | 'comma';

/**
 * A plain number. Either mark is read as the decimal one where only that reading makes sense (`85,3`, `8.5`);
 * the other mark before exactly three digits (`1,200`) is a thousands mark, as no measure here has three decimals.
 */
export function parseNumber(text: string, decimal: DecimalMark): number | Fault {
  const match = /^([+-]?\d*)(?:([.,])(\d+))?$/.exec(text.trim());
  if (!match || match[0] === '' || (match[1] === '' && match[3] === undefined)) return fault('not a number');
  const [, whole = '', mark, digits] = match;
  if (mark === undefined || digits === undefined) {
    const plainWhole = Number(whole);
    return Number.isFinite(plainWhole) && /\d/.test(whole) ? plainWhole : fault('not a number');
  }
  const own = decimal === 'point' ? '.' : ',';
  const thousands = mark !== own && digits.length === 3 && /^[+-]?[1-9]\d{0,2}$/.test(whole);
  return thousands
    ? Number(`${whole}${digits}`)
    : Number(`${whole || '0'}.${digits}`.replace(/^([+-])\./, '$10.'));
}

/** Steps of a millionth: takes away what binary fractions add (8.53 cm is 85.3 mm). */
export function tidy(value: number): number {
  return Math.round(value * 1e6) / 1e6;
}
