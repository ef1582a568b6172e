import { readFileSync } from 'node:fs';
import Papa from 'papaparse';
import { makeTable, type Table, textColumn } from '../../src/core/table.ts';
import type { Random } from '../../src/stats/random.ts';

/** A good delimited file before it is spoilt. */
export interface Grid {
  header: string[];
  rows: string[][];
  delimiter: string;
}

const demo = (name: string): string => readFileSync(new URL(`../../data/${name}`, import.meta.url), 'utf8');

let records: string[][] | null = null;

/** Some rows of the demo herd as they follow one another, one foot a row. */
export function demoGrid(random: Random, most = 40): Grid {
  records ??= Papa.parse<string[]>(demo('demo-visits.csv').trimEnd()).data;
  const [header, ...rows] = records;
  const from = random.integer(0, rows.length - most);
  return {
    header: [...(header as string[])],
    rows: rows.slice(from, from + random.integer(1, most)).map((row) => [...row]),
    delimiter: random.pick([',', ',', ';', '\t', '|']),
  };
}

/** One row a visit, the feet in columns. */
export function wideGrid(random: Random): Grid {
  const feet = ['LF', 'RF', 'LH', 'RH'];
  const header = [
    'Horse',
    'Yard',
    'Date',
    ...feet.map((f) => `${f} toe (cm)`),
    ...feet.map((f) => `thrush ${f}`),
  ];
  const rows = Array.from({ length: random.integer(1, 20) }, (_, i) => [
    `W${1 + (i % 4)}`,
    `yard ${i % 2}`,
    `2024-0${1 + Math.floor(i / 4)}-1${i % 4}`,
    ...feet.map(() => (7 + 2 * random.uniform()).toFixed(1)),
    ...feet.map(() => String(random.integer(0, 3))),
  ]);
  return { header, rows, delimiter: random.pick([',', ';', '\t']) };
}

/** The horses' file. */
export function horsesGrid(): Grid {
  const [header, ...rows] = Papa.parse<string[]>(demo('demo-horses.csv').trimEnd()).data;
  return { header: header as string[], rows: rows.slice(0, 30), delimiter: ',' };
}

export function someGrid(random: Random): Grid {
  const dice = random.uniform();
  return dice < 0.75 ? demoGrid(random) : dice < 0.95 ? wideGrid(random) : horsesGrid();
}

export function textOf({ header, rows, delimiter }: Grid, newline = '\n'): string {
  return Papa.unparse([header, ...rows], { delimiter, newline }) + newline;
}

/** The same cells as texts, for a Parquet file. Headers that repeat are dropped. */
export function tableOfGrid({ header, rows }: Grid): Table {
  return makeTable(
    Object.fromEntries(header.map((name, i) => [name, textColumn(rows.map((row) => row[i] || null))])),
  );
}

/** A share of the rows, at least one, changed in place at a cell of their own. */
export function changeCells(
  grid: Grid,
  random: Random,
  to: (was: string, header: string) => string,
  among: (header: string) => boolean = () => true,
): Grid {
  const columns = grid.header.flatMap((name, i) => (among(name) ? [i] : []));
  if (columns.length === 0) return grid;
  const many = random.pick([1, 1, 3, grid.rows.length * 2]);
  for (let k = 0; k < many; k++) {
    const row = random.pick(grid.rows);
    const at = random.pick(columns);
    row[at] = to(row[at] ?? '', grid.header[at] as string);
  }
  return grid;
}
