import { basename, join } from 'node:path';
import { loadHerd, setToday } from '../src/analyses/load-herd.ts';
import { readFiles } from '../src/batch/read-files.ts';
import { type CivilDay, dayFromIso } from '../src/core/civil-day.ts';
import { type Column, makeTable, numbers, type Table, texts } from '../src/core/table.ts';
import type { Engine } from '../src/engine/engine.ts';
import { openNodeEngine } from '../src/engine/node-engine.ts';
import { tableToCsv } from '../src/intake/csv-out.ts';

/** The day on which the herds of the tests are looked at. */
export const TODAY: CivilDay = dayFromIso('2026-11-17')!;
const YEAR_AGO = dayFromIso('2025-11-17')!;

const DEMO = ['demo-visits.csv', 'demo-horses.csv'].map((name) => join(process.cwd(), 'data', name));

interface Herd {
  readonly visits: Table;
  readonly horses: Table;
}

export async function demoTables(): Promise<Herd> {
  const files = DEMO.map((path) => ({ path, name: basename(path), keys: {} }));
  const { admitted, horses } = await readFiles(files, null, TODAY);
  return { visits: admitted, horses };
}

/** A small record: every twelfth horse of the demo herd, ten in all, with one year of visits. */
export async function tenHorses(): Promise<Herd> {
  const { visits, horses } = await demoTables();
  const days = numbers(visits, 'visit_date');
  const seen = texts(visits, 'horse_id').filter((_, row) => days[row]! >= YEAR_AGO);
  const ids = [...new Set(seen)].sort().filter((_, k) => k % 9 === 4);
  const kept = new Set(ids.slice(0, 10));
  const horse = texts(visits, 'horse_id');
  return {
    visits: pick(visits, (row) => kept.has(horse[row]!) && days[row]! >= YEAR_AGO),
    horses: pick(horses, (row) => kept.has(texts(horses, 'horse_id')[row]!)),
  };
}

/** Such a herd in an engine of its own; close it after use. */
export async function openHerdOf({ visits, horses }: Herd): Promise<Engine> {
  const engine = await openNodeEngine();
  await loadHerd(engine, { visits, horses }, { hemisphere: 'north' });
  await setToday(engine, TODAY);
  return engine;
}

function pick(table: Table, keep: (row: number) => boolean): Table {
  const rows = Array.from({ length: table.rowCount }, (_, row) => row).filter(keep);
  const columns = Object.entries(table.columns).map(([name, column]): [string, Column] => {
    const values = rows.map((row) => column.values[row] ?? null);
    const numeric = column.type === 'number' || column.type === 'day';
    return [
      name,
      { type: column.type, values: numeric ? Float64Array.from(values as number[]) : values } as Column,
    ];
  });
  return makeTable(Object.fromEntries(columns));
}

/** The same as the two files a user would have: UTF-8, comma, ISO dates, mm. */
export async function tenHorsesFiles(): Promise<{ name: string; type: string; bytes: Buffer }[]> {
  const { visits, horses } = await tenHorses();
  const file = (name: string, table: Table) => {
    const columns = Object.keys(table.columns).filter((column) => !/^(source_|row_)/.test(column));
    return { name, type: 'text/csv', bytes: Buffer.from(tableToCsv(table, { columns })) };
  };
  return [file('ten-horses-visits.csv', visits), file('ten-horses.csv', horses)];
}
