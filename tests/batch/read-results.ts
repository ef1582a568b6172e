import { readdirSync, readFileSync } from 'node:fs';
import { join, sep } from 'node:path';
import Papa from 'papaparse';

export type Row = Readonly<Record<string, string>>;

/** Every CSV of a folder of results, by its name; those of a folder inside it as `tables/name.csv`. */
export function readResults(folder: string): Map<string, readonly Row[]> {
  const names = readdirSync(folder, { recursive: true })
    .map((name) => String(name).split(sep).join('/'))
    .filter((name) => name.endsWith('.csv'));
  return new Map(
    names.map((name) => {
      const text = readFileSync(join(folder, name), 'utf8');
      return [name, Papa.parse<Row>(text, { header: true, skipEmptyLines: true }).data];
    }),
  );
}

export function headerOf(folder: string, name: string): string {
  return readFileSync(join(folder, name), 'utf8').split('\r\n')[0] ?? '';
}

const number = (text: string): number => Number(text.replaceAll(',', '').replace('−', '-'));
const digitsOf = (text: string): number => text.split('.')[1]?.length ?? 0;

/** Does a written figure stand for a value, rounded to the digits it is written with? */
function standsFor(written: string, value: number, scale: number): boolean {
  return Math.abs(number(written) - value * scale) <= 0.5 * 10 ** -digitsOf(written) + 1e-9;
}

/** `estimate (95 % low to high`, and what of the sentence stands before it. */
const INTERVAL = /([^;:()]*)\(95 % (?:interval )?(−?[\d.,]+) to (−?[\d.,]*\d)( %)?/g;
const FIGURE = /−?\d[\d,]*(?:\.\d+)?/g;

/** Sentences' intervals, as written, that no row of the tables holds with an estimate that stands before them. */
export function unfoundIntervals(text: string, rows: readonly Row[]): string[] {
  return [...text.matchAll(INTERVAL)]
    .filter(([, before = '', low = '', high = '', percent]) => {
      const scale = percent ? 100 : 1;
      const said = before.match(FIGURE) ?? [];
      return !rows.some(
        (row) =>
          row.conf_low !== '' &&
          standsFor(low, Number(row.conf_low), scale) &&
          standsFor(high, Number(row.conf_high), scale) &&
          said.some((figure) => standsFor(figure, Number(row.estimate), scale)),
      );
    })
    .map(([whole]) => whole.trim());
}

/** How many intervals the text holds. */
export function countIntervals(text: string): number {
  return [...text.matchAll(INTERVAL)].length;
}

/** `118 horses, 472 feet, 6,310 trim cycles` that no row's counts agree with. */
export function unfoundCounts(text: string, rows: readonly Row[]): string[] {
  return [...text.matchAll(/([\d,]+) horses, ([\d,]+) feet, ([\d,]+) trim cycles/g)]
    .filter(
      ([, horses = '', feet = '', cycles = '']) =>
        !rows.some(
          (row) =>
            Number(row.n_horses) === number(horses) &&
            Number(row.n_feet) === number(feet) &&
            Number(row.n_cycles) === number(cycles),
        ),
    )
    .map(([whole]) => whole);
}
