import { fromMm } from '../core/length.ts';
import { figure, quantity, range } from './format.ts';

/** The unit in which sentences, tables and charts give lengths. Results themselves are always in mm. */
export type ShownLength = 'mm' | 'in';

/** Whether a unit is a length in mm, or a rate of one: `mm`, `mm per 30 days`. */
export const isMm = (unit: string | undefined): boolean =>
  unit === 'mm' || (unit?.startsWith('mm ') ?? false);

/**
 * Digits after the point that say as much in inches as `digits` do in mm: a whole mm is 0.04 in, so two more for whole
 * mm and one more for finer ones.
 */
export const digitsIn = (shown: ShownLength, digits: number): number =>
  shown === 'mm' ? digits : digits === 0 ? 2 : digits + 1;

/** `mm per 30 days` as it is shown: `in per 30 days`. Units that are no lengths stay. */
export const shownUnit = (shown: ShownLength, unit: string): string =>
  shown === 'in' && isMm(unit) ? `in${unit.slice(2)}` : unit;

/** A value of this unit as it is shown; one that is no length stays. */
export const shownValue = (shown: ShownLength, value: number, unit: string | undefined): number =>
  shown === 'in' && isMm(unit) ? fromMm(value, 'in') : value;

/** How the sentences of an analysis write values in mm, or mm per something: always through one of these. */
export interface LengthWords {
  readonly shown: ShownLength;
  /** `mm per 30 days`, `inches per 30 days`: the unit alone, so that `in` is not read as a word. */
  unit(unit: string): string;
  /** `7.5 mm per 30 days`, `0.30 in per 30 days`; `digits` are those after the point in mm. */
  quantity(value: number, unit: string, digits: number): string;
  /** The number alone. */
  figure(value: number, unit: string, digits: number): string;
  /** `7.2 to 8.1`, without the unit. */
  range(low: number, high: number, unit: string, digits: number): string;
  /** `95 % 7.2 to 8.1` */
  interval95(low: number, high: number, unit: string, digits: number): string;
}

export function lengthWords(shown: ShownLength): LengthWords {
  const digitsOf = (unit: string, digits: number): number => (isMm(unit) ? digitsIn(shown, digits) : digits);
  const of = (value: number, unit: string): number => shownValue(shown, value, unit);
  return {
    shown,
    unit: (unit) => (shown === 'in' && isMm(unit) ? `inches${unit.slice(2)}` : unit),
    quantity: (value, unit, digits) =>
      quantity(of(value, unit), shownUnit(shown, unit), digitsOf(unit, digits)),
    figure: (value, unit, digits) => figure(of(value, unit), digitsOf(unit, digits)),
    range: (low, high, unit, digits) => range(of(low, unit), of(high, unit), digitsOf(unit, digits)),
    interval95: (low, high, unit, digits) =>
      `95\u00a0% ${range(of(low, unit), of(high, unit), digitsOf(unit, digits))}`,
  };
}
