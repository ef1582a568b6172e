import { describe, expect, test } from 'vitest';
import { type CivilDay, dayFromIso } from '../../src/core/civil-day.ts';
import { FOOT_VISIT } from '../../src/herd/dictionary.ts';
import { openDelimited } from '../../src/intake/csv-source.ts';
import { inspectFile } from '../../src/intake/open.ts';
import { emptyTemplate } from '../../src/intake/template.ts';
import { typedRow } from '../../src/intake/typed-row.ts';

const TODAY = dayFromIso('2026-06-01') as CivilDay;
const bytes = (text: string) => new TextEncoder().encode(text);

async function opened(text: string) {
  const { source, mapping } = await inspectFile({ name: 'a.csv', bytes: bytes(text) });
  return (line: number, foot: string | null) => typedRow(source, mapping, { line, foot }, TODAY);
}

describe('a row of a file as someone would type it', () => {
  test('bears the unit and the order of dates that the mapping knows', async () => {
    const row = await opened('horse,date,foot,toe (in)\nA,05/03/2026,LF,3.5\nB,26/03/2026,XX,long\n');
    expect(row(2, 'LF')).toEqual({
      horse_id: 'A',
      visit_date: '2026-03-05',
      foot: 'LF',
      toe_before_mm: '3.5 in',
    });
    expect(row(3, null)).toEqual({
      horse_id: 'B',
      // No other order of dates allows it.
      visit_date: '26/03/2026',
      foot: 'XX',
      toe_before_mm: 'long',
    });
    expect(row(9, null)).toBeNull();
  });

  test('takes the foot’s own columns where a row holds four', async () => {
    const row = await opened('horse;date;LF toe mm;RF toe mm;ground\nA;2026-03-25;88,5;91,5;soft\n');
    expect(row(2, 'RF')).toEqual({
      horse_id: 'A',
      visit_date: '2026-03-25',
      foot: 'RF',
      toe_before_mm: '91,5',
      terrain: 'soft',
    });
  });
});

test('the empty template is read back as every column of the record, without asking anything', async () => {
  const source = await openDelimited('t.csv', bytes(`${emptyTemplate()}A,,,,2026-03-09,LF\r\n`)).catch(
    () => null,
  );
  expect(source?.columns.map(({ name }) => name)).toEqual(FOOT_VISIT.map(({ name }) => name));
  const { mapping } = await inspectFile({
    name: 't.csv',
    bytes: bytes(`${emptyTemplate()}A${','.repeat(FOOT_VISIT.length - 1)}\r\n`),
  });
  expect(mapping.columns.map(({ target }) => target)).toEqual(FOOT_VISIT.map(({ name }) => name));
});
