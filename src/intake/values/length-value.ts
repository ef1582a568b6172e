import { type LengthUnit, MM_PER_INCH, toMm } from '../../core/length.ts';
import { type DecimalMark, parseNumber, tidy } from './number-value.ts';
import { type Fault, fault, isFault } from './parsed.ts';

const UNIT_WORDS: Readonly<Record<string, LengthUnit>> = {
  mm: 'mm',
  millimeters: 'mm',
  millimetres: 'mm',
  cm: 'cm',
  centimeters: 'cm',
  centimetres: 'cm',
  in: 'in',
  'in.': 'in',
  inch: 'in',
  inches: 'in',
  '"': 'in',
  '″': 'in',
  '”': 'in',
  "''": 'in',
};

/** Room for any length with its unit; the patterns below take long over a long run of spaces. */
const LONGEST_LENGTH = 100;

/** `3⅜` as `3 3/8`; nothing of a text too long for a length. */
function spellFractions(text: string): string {
  return (text.length > LONGEST_LENGTH ? '' : text)
    .replace(/[¼-¾⅐-⅞]/g, (c) => ` ${c.normalize('NFKC').replace('\u2044', '/')}`)
    .replaceAll('\u2044', '/')
    .trim();
}

/** Is this an inch fraction (`3/8`, `3 3/8`, `3-3/8"`, `3⅜`)? */
export function isFraction(text: string): boolean {
  return /^(?:\d+(?:\s+|\s*-\s*))?\d+\/\d+\s*\D*$/.test(spellFractions(text));
}

/** The unit that the cell itself states, a fraction counting as inches; null where it states none. */
export function statedUnit(text: string): LengthUnit | null {
  const spelled = spellFractions(text);
  if (isFraction(spelled)) return 'in';
  const words = /[a-z"″”'.]+$/i.exec(spelled)?.[0].toLowerCase();
  return words === undefined ? null : (UNIT_WORDS[words] ?? null);
}

/** Length in mm. A unit in the cell goes before the column's; fractions are of inches, halves to sixty-fourths. */
export function parseLength(text: string, unit: LengthUnit, decimal: DecimalMark = 'point'): number | Fault {
  const spelled = spellFractions(text);
  const match = /^(.*?)\s*([a-z″”"'][a-z″”"'.]*)?$/is.exec(spelled);
  const body = match?.[1] ?? '';
  const words = match?.[2]?.toLowerCase();
  const own = words === undefined ? null : UNIT_WORDS[words];
  if (own === undefined) return fault('not a length');
  const mixed = /^(?:(\d+)(?:\s+|\s*-\s*))?(\d+)\/(\d+)$/.exec(body);
  if (mixed) return fractionMm(Number(mixed[1] ?? 0), Number(mixed[2]), Number(mixed[3]), own);
  const value = parseNumber(body, decimal);
  return isFault(value) ? fault('not a length') : tidy(toMm(value, own ?? unit));
}

function fractionMm(whole: number, top: number, bottom: number, own: LengthUnit | null): number | Fault {
  if (own !== null && own !== 'in') return fault('a fraction is read as inches, but the cell says otherwise');
  if (![2, 4, 8, 16, 32, 64].includes(bottom)) {
    return fault('not a fraction of an inch (halves, quarters, eighths, down to sixty-fourths)');
  }
  if (whole > 0 && top >= bottom) return fault('not a fraction of an inch (its upper number is too large)');
  return tidy((whole + top / bottom) * MM_PER_INCH);
}

/** Inches as a rule shows them, to the nearest sixteenth: `3 3/8`. */
export function formatInches(mm: number): string {
  return formatSixteenths(Math.round((mm / MM_PER_INCH) * 16));
}

/** A whole number of sixteenths of an inch in lowest terms: 54 is `3 3/8`. */
export function formatSixteenths(sixteenths: number): string {
  const whole = Math.floor(sixteenths / 16);
  let top = sixteenths % 16;
  let bottom = 16;
  while (top > 0 && top % 2 === 0) {
    top /= 2;
    bottom /= 2;
  }
  if (top === 0) return String(whole);
  return whole === 0 ? `${top}/${bottom}` : `${whole} ${top}/${bottom}`;
}
