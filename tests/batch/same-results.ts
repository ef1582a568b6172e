import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { type Row, readResults } from './read-results.ts';

/** Findings but for the list of files, which are others. */
export const findingsOf = (out: string): string =>
  readFileSync(join(out, 'findings.md'), 'utf8').replace(/^- \S+ \(\w+\): .*\n/gm, '');

/** Where the same figures are added up in another order, and fitted from there, the last bits differ. */
const RELATIVE = 1e-6;
const ABSOLUTE = 1e-9;

function isSame(a: string | undefined, b: string | undefined): boolean {
  if (a === b) return true;
  const [x, y] = [Number(a), Number(b)];
  return a !== '' && b !== '' && Math.abs(x - y) <= ABSOLUTE + RELATIVE * Math.abs(x);
}

/** Cells of two folders of results that differ by more than their last bits, and tables that only one has. */
export function differences(one: string, other: string): string[] {
  const [a, b] = [tables(one), tables(other)];
  const names = [...new Set([...a.keys(), ...b.keys()])];
  return names.flatMap((name) => {
    const [rows, others] = [a.get(name), b.get(name)];
    if (rows?.length !== others?.length) return [`${name}: ${rows?.length} rows, ${others?.length} rows`];
    return (rows ?? []).flatMap((row, i) =>
      Object.entries(row)
        .filter(([column, cell]) => !isSame(cell, others?.[i]?.[column]))
        .map(([column, cell]) => `${name} ${i} ${column}: ${cell}, ${others?.[i]?.[column]}`),
    );
  });
}

function tables(out: string): Map<string, readonly Row[]> {
  const results = readResults(out);
  results.delete('set-aside.csv');
  return results;
}

/** What was wrong with the rows set aside, in no order: they stand in other files at other lines. */
export const faultsOf = (out: string): string[] =>
  (readResults(out).get('set-aside.csv') ?? [])
    .map(({ foot, column, value, reason, accepted, horse_id }) =>
      [foot, column, value, reason?.replace(/\bline \d+( of \S+)?/g, 'line'), accepted, horse_id].join(' | '),
    )
    .sort();
