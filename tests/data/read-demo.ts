import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import Papa from 'papaparse';
import type { BadRow } from '../../data/bad-rows.ts';

export const dataFolder = fileURLToPath(new URL('../../data', import.meta.url));

export function demoBytes(name: string): Buffer {
  return readFileSync(join(dataFolder, name));
}

export function demoText(name: string): string {
  return demoBytes(name).toString('utf8');
}

export type Cells = Readonly<Record<string, string>>;

/** A CSV as records of text, each with the physical line on which it begins. */
export function readCsv(text: string): { fields: string[]; records: { line: number; cells: Cells }[] } {
  const { data } = Papa.parse<string[]>(text, { delimiter: ',', newline: '\n', skipEmptyLines: true });
  const [fields, ...rest] = data;
  let line = 2;
  const records = rest.map((values) => {
    const cells = Object.fromEntries(fields!.map((field, i) => [field, values[i] ?? 'too few cells']));
    const record = { line, cells };
    line += 1 + values.join('').split('\n').length - 1;
    return record;
  });
  return { fields: fields!, records };
}

export interface Truth {
  readonly counts: { readonly csvRecords: number; readonly soundRows: number; readonly horses: number };
  readonly badRows: readonly BadRow[];
  readonly cyclesToFlag: readonly { horseId: string; from: string; to: string; days: number }[];
  readonly problems: Readonly<Record<string, { onsets: number; onsetsSeenAtVisits: number }>>;
  readonly wallBroken: readonly {
    place: string;
    relief: string;
    cycles: number;
    meanChance: number;
    shareBroken: number;
  }[];
  readonly horses: readonly { horseId: string; breedType: string }[];
}

export function readTruth(): Truth {
  return JSON.parse(demoText('truth.json')) as Truth;
}

/** Records that are not bad, in file order. */
export function soundRecords(): Cells[] {
  const bad = new Set(readTruth().badRows.map((row) => row.line));
  return readCsv(demoText('demo-visits.csv'))
    .records.filter(({ line }) => !bad.has(line))
    .map(({ cells }) => cells);
}
