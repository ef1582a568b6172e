/** Holds a figure and its unit on one line. */
const TIED = '\u00a0';

/** To make a format takes far longer than to use it. */
const FORMATS = new Map<number, Intl.NumberFormat>();

function formatOf(digits: number): Intl.NumberFormat {
  const known = FORMATS.get(digits);
  if (known) return known;
  const made = new Intl.NumberFormat('en-GB', {
    minimumFractionDigits: digits,
    maximumFractionDigits: digits,
  });
  FORMATS.set(digits, made);
  return made;
}

/** Figures as people read them: grouped thousands, a true minus sign, fixed digits. */
export function figure(value: number, digits = 0): string {
  const text = formatOf(digits).format(value);
  return text.replace(/^-(?=0(\.0+)?$)/, '').replace(/^-/, '−');
}

/** `7.2 to 8.1`, the words in which an interval stands in a sentence. */
export function range(low: number, high: number, digits = 0): string {
  return `${figure(low, digits)} to ${figure(high, digits)}`;
}

/** A share of 0–1 as per cent. */
export function percent(share: number, digits = 0): string {
  return `${figure(share * 100, digits)}${TIED}%`;
}

export function percentRange(low: number, high: number, digits = 0): string {
  return `${range(low * 100, high * 100, digits)}${TIED}%`;
}

/** A figure with its unit; the degree sign stands close. */
export function quantity(value: number, unit: string, digits = 0): string {
  return `${figure(value, digits)}${unit.startsWith('°') ? '' : TIED}${unit}`;
}

/** `95 % 7.2 to 8.1` */
export function interval95(low: number, high: number, digits = 0): string {
  return `${percent(0.95)} ${range(low, high, digits)}`;
}

/** `95 % 7 to 8 %`, for shares. */
export function shareInterval95(low: number, high: number, digits = 0): string {
  return `${percent(0.95)} ${percentRange(low, high, digits)}`;
}

/** Ties signs and units to the figures before them wherever a sentence was put together by hand. */
export function tied(sentence: string): string {
  return sentence.replace(/(\d) (?=(%|mm|°|days?|weeks?|years?)(?![\p{L}\d]))/gu, `$1${TIED}`);
}

/** As it is shown: a capital letter first, a full stop last. */
export function asSentence(text: string): string {
  const trimmed = text.trim();
  const first = trimmed.charAt(0).toUpperCase() + trimmed.slice(1);
  return /[.!?]$/.test(first) ? first : `${first}.`;
}

export interface Counts {
  readonly horses: number;
  readonly feet: number;
  readonly cycles: number;
}

/** `1 horse`, `1,204 horses` */
export function counted(n: number, one: string, many: string): string {
  return `${figure(n)} ${n === 1 ? one : many}`;
}

export const horsesText = (n: number): string => counted(n, 'horse', 'horses');

/** `118 horses, 472 feet, 6,310 trim cycles` */
export function countsText({ horses, feet, cycles }: Counts): string {
  return [
    horsesText(horses),
    counted(feet, 'foot', 'feet'),
    counted(cycles, 'trim cycle', 'trim cycles'),
  ].join(', ');
}
