/** Figures as people read them: grouped thousands, a true minus sign, fixed digits. */
export function figure(value: number, digits = 0): string {
  const text = new Intl.NumberFormat('en-GB', {
    minimumFractionDigits: digits,
    maximumFractionDigits: digits,
  }).format(value);
  return text.replace(/^-(?=0(\.0+)?$)/, '').replace(/^-/, '−');
}

/** `7.2 to 8.1`, the words in which an interval stands in a sentence. */
export function range(low: number, high: number, digits = 0): string {
  return `${figure(low, digits)} to ${figure(high, digits)}`;
}

/** A share of 0–1 as per cent. */
export function percent(share: number, digits = 0): string {
  return `${figure(share * 100, digits)} %`;
}

export function percentRange(low: number, high: number, digits = 0): string {
  return `${figure(low * 100, digits)} to ${figure(high * 100, digits)} %`;
}

export interface Counts {
  readonly horses: number;
  readonly feet: number;
  readonly cycles: number;
}

const plural = (n: number, one: string, many: string): string => `${figure(n)} ${n === 1 ? one : many}`;

/** `118 horses, 472 feet, 6,310 trim cycles` */
export function countsText({ horses, feet, cycles }: Counts): string {
  return [
    plural(horses, 'horse', 'horses'),
    plural(feet, 'foot', 'feet'),
    plural(cycles, 'trim cycle', 'trim cycles'),
  ].join(', ');
}
