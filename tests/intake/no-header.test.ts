import { describe, expect, it } from 'vitest';
import { rowsOf } from '../../src/core/table.ts';
import { retarget } from '../../src/intake/choices.ts';
import { mappingProblems } from '../../src/intake/mapping.ts';
import { looksLikeRow } from '../../src/intake/row-for-header.ts';
import { admitText, mappingOf } from './admit.ts';

describe('a first line', () => {
  it.each([
    'Duke,2024-01-03,LF,88,80',
    'Duke,near fore,3 3/8',
    'Duke,8/2/2024,88,80,87,79',
    '17,3.4,3.2',
    'Day,Pony,2024-01-03,LF,88,80',
    'Duke;3 Jan 2024;LF',
  ])('of cells is a row: %s', (line) => {
    expect(looksLikeRow(line.split(/[,;]/))).toBe(true);
  });

  it.each([
    'horse,date,foot,toe',
    'horse,date,LF,RF,LH,RH',
    'LF,RF,LH,RH',
    'horse,2024-01-03,2024-02-03',
    'Pferd,2021,2022,2023',
    'Hest,Farve',
    'Duke,2024',
    'Duke,LF',
    '',
  ])('of names is a header: %s', (line) => {
    expect(looksLikeRow(line.split(','))).toBe(false);
  });
});

describe('a file without a header', () => {
  const text = 'Duke,2024-01-03,LF,88,80\nDuke,2024-03-03,LF,87,80\nDuke,2024-05-03,LF,86\n';

  it('has numbered columns, says so, and knows dates and feet by their cells', async () => {
    const mapping = await mappingOf(text);
    expect(mapping.columns.map((c) => [c.source, c.target])).toEqual([
      ['column 1', null],
      ['column 2', 'visit_date'],
      ['column 3', 'foot'],
      ['column 4', null],
      ['column 5', null],
    ]);
    expect(mapping.notes).toEqual([
      'The first line looks like a row, not a header: “Duke, 2024-01-03, LF, 88, 80”. It is read as a row, and the columns are numbered.',
    ]);
    expect(mappingProblems(mapping)).toEqual(['No column says which horse.']);
  });

  it('loses no row', async () => {
    const { admitted, setAside, report } = await admitText(text, (mapping) =>
      retarget(retarget(mapping, 0, 'horse_id'), 3, 'toe_before_mm'),
    );
    expect(rowsOf(admitted).map((r) => [r.source_line, r.horse_id, r.toe_before_mm])).toEqual([
      [1, 'Duke', 88],
      [2, 'Duke', 87],
    ]);
    expect(rowsOf(setAside).map((r) => [r.line, r.reason])).toEqual([
      [3, 'too few cells: 4 where the first row has 5'],
    ]);
    expect(report).toMatchObject({ rowsRead: 3, admitted: 2, setAside: 1, identityHolds: true });
  });

  it('is told from one with other kinds of columns', async () => {
    const one = await mappingOf(text);
    const same = await mappingOf('Moss,2025-01-03,RF,91,83\n');
    const other = await mappingOf('2025-01-03,Moss,RF,91,83\n');
    expect(same.signature).toBe(one.signature);
    expect(other.signature).not.toBe(one.signature);
  });

  it('leaves a file with a header without such a note', async () => {
    expect((await mappingOf('horse,date,foot\na,2026-03-09,LF\n')).notes).toEqual([]);
  });
});
