import { expect, test } from 'vitest';
import { dayFromIso } from '../../src/core/civil-day.ts';
import { demoText, readCsv, readTruth, soundRecords } from './read-demo.ts';

const truth = readTruth();
const { records } = readCsv(demoText('demo-visits.csv'));
const keyOf = (cells: Readonly<Record<string, string>>) =>
  `${cells.horse_id} ${cells.visit_date} ${cells.foot}`;

test('rows read = sound rows + bad rows', () => {
  expect(records.length).toBe(truth.counts.csvRecords);
  expect(truth.counts.soundRows + truth.badRows.length).toBe(truth.counts.csvRecords);
  expect(soundRecords().length).toBe(truth.counts.soundRows);
});

test('each bad row begins on the line that truth.json names and holds the value it names', () => {
  const lines = demoText('demo-visits.csv').split('\n');
  for (const bad of truth.badRows) {
    const record = records.find(({ line }) => line === bad.line)!;
    expect(record, `${bad.kind} at line ${bad.line}`).toBeDefined();
    if (bad.column) expect(record.cells[bad.column], bad.kind).toBe(bad.value);
    const start = `${record.cells.horse_id},${record.cells.client_id},`;
    expect(lines[bad.line - 1]!.startsWith(start), bad.kind).toBe(true);
  }
});

test('notes with line breaks come before some bad rows, so that line and record numbers differ', () => {
  const last = truth.badRows.at(-1)!;
  const record = records.findIndex(({ line }) => line === last.line);
  expect(last.line).toBeGreaterThan(record + 2);
});

test('every kind of bad row is there', () => {
  expect([...new Set(truth.badRows.map((bad) => bad.kind))].sort()).toEqual([
    'after-longer-than-before',
    'conflicting',
    'duplicate',
    'future-date',
    'implausible-grade',
    'implausible-length',
    'impossible-date',
    'missing-date',
    'missing-horse',
    'negative-length',
    'text-in-number',
    'unknown-foot',
    'unknown-level',
  ]);
});

test('the duplicate repeats a sound row; the conflicting rows share a key and differ', () => {
  const at = (line: number) => records.find((record) => record.line === line)!.cells;
  const duplicate = at(truth.badRows.find((bad) => bad.kind === 'duplicate')!.line);
  expect(soundRecords()).toContainEqual(duplicate);
  const [one, other] = truth.badRows.filter((bad) => bad.kind === 'conflicting').map((bad) => at(bad.line));
  expect(keyOf(one!)).toBe(keyOf(other!));
  expect(Number(other!.toe_before_mm) - Number(one!.toe_before_mm)).toBe(9);
});

test('no sound row has a fault that the bad rows have', () => {
  const seen = new Set<string>();
  const faults = soundRecords().filter((cells) => {
    const day = dayFromIso(cells.visit_date!);
    const late = day === null || cells.visit_date! > '2026-11-10' || cells.visit_date! < '2022-11-10';
    const twice = seen.has(keyOf(cells));
    seen.add(keyOf(cells));
    const longer =
      cells.toe_before_mm !== '' &&
      cells.toe_after_mm !== '' &&
      Number(cells.toe_after_mm) > Number(cells.toe_before_mm);
    return late || twice || longer || cells.horse_id === '';
  });
  expect(faults).toEqual([]);
});
