import { tableFromIPC } from '@uwdata/flechette';
import { readParquet } from 'parquet-wasm';
import { expect, test } from 'vitest';
import { type Columns, HORSE_COLUMNS, VISIT_COLUMNS } from '../../data/foot-row.ts';
import { textCells } from '../../data/write-csv.ts';
import { demoBytes, demoText, readCsv, soundRecords } from './read-demo.ts';

/** Rows of a Parquet file as the CSV would write them. */
function parquetAsText(bytes: Uint8Array, columns: Columns): Record<string, string>[] {
  const table = tableFromIPC(readParquet(bytes).intoIPCStream());
  const days = Object.entries(columns).flatMap(([name, kind]) => (kind === 'day' ? [name] : []));
  return table.toArray().map((row) => {
    const values = { ...(row as Record<string, string | number | boolean | null>) };
    for (const name of days) values[name] = (values[name] as number) / 86_400_000;
    const cells = textCells(values, columns);
    return Object.fromEntries(Object.keys(columns).map((name, i) => [name, cells[i]!]));
  });
}

test('the visits hold the sound rows of the CSV, value for value, in order', () => {
  expect(parquetAsText(demoBytes('demo-visits.parquet'), VISIT_COLUMNS)).toEqual(soundRecords());
});

test('the horses are those of the CSV', () => {
  const csv = readCsv(demoText('demo-horses.csv')).records.map((record) => record.cells);
  expect(parquetAsText(demoBytes('demo-horses.parquet'), HORSE_COLUMNS)).toEqual(csv);
});

test('columns are typed: text, date, double, whole number, boolean', () => {
  const { schema } = tableFromIPC(readParquet(demoBytes('demo-visits.parquet')).intoIPCStream());
  const kindOf = new Map<string, string>();
  for (const { name, type } of schema.fields) {
    // Arrow type ids: 2 integer, 3 floating point, 5 UTF-8, 6 boolean, 8 date.
    kindOf.set(name, { 2: 'whole', 3: 'mm', 5: 'text', 6: 'boolean', 8: 'day' }[type.typeId as 2] ?? 'other');
  }
  expect(Object.fromEntries(kindOf)).toEqual({ ...VISIT_COLUMNS });
});
