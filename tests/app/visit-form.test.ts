import { expect, test } from 'vitest';
import {
  EMPTY_VISIT,
  FOOT_FIELDS,
  HORSE_FIELDS,
  MORE_FOOT_FIELDS,
  rowsOfVisit,
  VISIT_FIELDS,
  visitFaults,
} from '../../src/app/visit-form.ts';
import { FOOT_VISIT } from '../../src/herd/dictionary.ts';

test('every column of the record has a field, once', () => {
  const fields = [...VISIT_FIELDS, ...HORSE_FIELDS, ...FOOT_FIELDS, ...MORE_FOOT_FIELDS].map(
    ({ name }) => name,
  );
  expect([...fields, 'horse_id', 'foot'].sort()).toEqual(FOOT_VISIT.map(({ name }) => name).sort());
});

test('a foot of which nothing is noted makes no row; the others carry what belongs to the visit', () => {
  const rows = rowsOfVisit({
    visit: { horse_id: 'H1', visit_date: '2026-03-09', terrain: ' ' },
    feet: { ...EMPTY_VISIT.feet, RF: { toe_before_mm: '3 1/4 in', notes: '' }, LH: { notes: '  ' } },
  });
  expect(rows).toEqual([
    {
      foot: 'RF',
      row: { cells: { horse_id: 'H1', visit_date: '2026-03-09', toe_before_mm: '3 1/4 in', foot: 'RF' } },
    },
  ]);
  expect(rowsOfVisit(EMPTY_VISIT)).toEqual([]);
});

test('a fault of the visit is told once, one of a foot beside its own field', () => {
  const missing = { column: 'visit_date', reason: 'visit date is missing', accepted: 'a date' };
  const faults = visitFaults(
    ['LF', 'RF'],
    [
      { ok: false, faults: [missing, { column: 'toe_before_mm', reason: 'not a length', accepted: 'mm' }] },
      { ok: false, faults: [missing, { column: null, reason: 'there already', accepted: 'one row' }] },
    ],
  );
  expect(faults).toEqual([
    { foot: null, ...missing },
    { foot: 'LF', column: 'toe_before_mm', reason: 'not a length', accepted: 'mm' },
    { foot: 'RF', column: null, reason: 'there already', accepted: 'one row' },
  ]);
  expect(visitFaults(['LF'], [{ ok: true, row: 'x', values: {} }])).toEqual([]);
});
