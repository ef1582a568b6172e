import { expect, test } from 'vitest';
import { HORSE_COLUMNS, VISIT_COLUMNS } from '../../data/foot-row.ts';
import { FOOT_VISIT } from '../../src/herd/dictionary.ts';
import { demoText, readCsv, soundRecords } from './read-demo.ts';

const dictionary = new Map<string, (typeof FOOT_VISIT)[number]>(
  FOOT_VISIT.map((column) => [column.name, column]),
);
const horses = readCsv(demoText('demo-horses.csv'));

test('headers are names of the data dictionary, and together they are all of them', () => {
  expect(readCsv(demoText('demo-visits.csv')).fields).toEqual(Object.keys(VISIT_COLUMNS));
  expect(horses.fields).toEqual(Object.keys(HORSE_COLUMNS));
  const written = new Set([...Object.keys(VISIT_COLUMNS), ...Object.keys(HORSE_COLUMNS)]);
  expect([...written].sort()).toEqual([...dictionary.keys()].sort());
});

test('sound values are levels and lie within the limits of the dictionary', () => {
  const outside: string[] = [];
  for (const cells of [...soundRecords(), ...horses.records.map((record) => record.cells)]) {
    for (const [name, text] of Object.entries(cells)) {
      const column = dictionary.get(name)!;
      const levels = column.levels as readonly string[] | null;
      if (text === '') continue;
      if (column.kind === 'level' && levels && !levels.includes(text)) outside.push(`${name} ${text}`);
      if (column.low !== null && !(Number(text) >= column.low)) outside.push(`${name} ${text}`);
      if (column.high !== null && !(Number(text) <= column.high)) outside.push(`${name} ${text}`);
      if (column.kind === 'boolean' && text !== 'true' && text !== 'false') outside.push(`${name} ${text}`);
    }
  }
  expect(outside).toEqual([]);
});

test('every visit finds its horse, at its yard; every horse has a visit', () => {
  const yardOf = new Map(
    horses.records.map(({ cells }) => [cells.horse_id, cells.client_id] as [string, string]),
  );
  expect(yardOf.size).toBe(120);
  expect(new Set(yardOf.values()).size).toBe(12);
  const visits = soundRecords();
  expect(visits.filter((cells) => yardOf.get(cells.horse_id!) !== cells.client_id)).toEqual([]);
  expect(new Set(visits.map((cells) => cells.horse_id)).size).toBe(120);
});
