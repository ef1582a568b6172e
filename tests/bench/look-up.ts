import { spreadOf } from './measure.ts';
import type { Measurement, PartResult } from './results.ts';

const found = (
  results: readonly PartResult[],
  rows: number,
  isIt: (key: string) => boolean,
): readonly Measurement[] =>
  results
    .filter((result) => result.rows === rows)
    .flatMap(({ measurements }) => measurements)
    .filter(({ key, values }) => isIt(key) && values.length > 0);

/** The median of one measurement, in its own unit; null where it was not taken at this size. */
export function medianOf(results: readonly PartResult[], key: string, rows: number): number | null {
  const [first] = found(results, rows, (each) => each === key);
  return first ? spreadOf(first.values).median : null;
}

/** Medians of all measurements whose keys begin so, in the order in which they were taken. */
export function withPrefix(results: readonly PartResult[], prefix: string, rows: number): number[] {
  return found(results, rows, (each) => each.startsWith(prefix)).map(({ values }) => spreadOf(values).median);
}

/** Here over beside; null where it was not taken at this size, or beside nothing. */
export function ratioOf(results: readonly PartResult[], key: string, rows: number): number | null {
  const [first] = found(results, rows, (each) => each === key);
  return first?.beside ? spreadOf(first.values).median / spreadOf(first.beside.values).median : null;
}
