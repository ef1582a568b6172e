import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { Books } from '../../src/batch/books.ts';
import { keysOfPath, partsOfFolder } from '../../src/batch/hive-folder.ts';
import { readRecord } from '../../src/batch/read-record.ts';
import { civilDay } from '../../src/core/civil-day.ts';
import { numbers, rowsOf, type Table, texts } from '../../src/core/table.ts';

const TODAY = civilDay(2026, 11, 1)!;
const HEADER = 'horse_id,visit_date,foot,toe_before_mm';
const base = mkdtempSync(join(tmpdir(), 'growout-parts-'));
afterAll(() => rmSync(base, { recursive: true, force: true }));

let folders = 0;
function folderOf(files: Readonly<Record<string, readonly string[]>>): string {
  const folder = join(base, String(++folders));
  for (const [name, lines] of Object.entries(files)) {
    mkdirSync(dirname(join(folder, name)), { recursive: true });
    writeFileSync(join(folder, name), `${lines.join('\n')}\n`);
  }
  return folder;
}

async function readFolder(files: Readonly<Record<string, readonly string[]>>) {
  const books = new Books();
  const visits: Table[] = [];
  const horses: Table[] = [];
  for await (const part of readRecord(await partsOfFolder(folderOf(files)), null, TODAY, books)) {
    if (!('piece' in part.visits)) throw new Error('visits must come in pieces');
    visits.push(part.visits.piece(0, part.visits.rowCount));
    horses.push(part.horses);
  }
  return { visits, horses, books };
}

describe('folders named after what they hold', () => {
  it('say it by keys, outermost first, with signs by their codes', () => {
    expect(keysOfPath('practice=Ouzel%20%26%20Co/year=2024/part-0.parquet')).toEqual({
      practice: 'Ouzel & Co',
      year: '2024',
    });
    expect(keysOfPath('visits/practice=__HIVE_DEFAULT_PARTITION__/a=b=c/x.csv')).toEqual({ a: 'b=c' });
  });

  it('are parts by practice and part, not by year; what begins with a dot or an underscore is none', async () => {
    const row = [HEADER, 'A,2025-03-09,LF,90'];
    const parts = await partsOfFolder(
      folderOf({
        'practice=B/year=2024/0.csv': row,
        'practice=B/year=2025/0.csv': row,
        'horses/practice=B/0.csv': row,
        'practice=A-1/0.csv': row,
        'practice=A/part=2/0.csv': row,
        'practice=A/_SUCCESS/0.csv': row,
        'practice=A/.0.csv': row,
      }),
    );
    expect(parts.map(({ practice, files }) => [practice, files.length])).toEqual([
      ['A-1', 1],
      ['A', 1],
      ['B', 3],
    ]);
  });

  it('may not stand beside files of nobody’s', async () => {
    const row = [HEADER, 'A,2025-03-09,LF,90'];
    await expect(partsOfFolder(folderOf({ 'practice=B/0.csv': row, '0.csv': row }))).rejects.toThrow(
      /^0\.csv: stands beside folders of a practice/,
    );
  });
});

describe('a record in parts', () => {
  it('keeps the same ids of two practices apart, and each to its own horses', async () => {
    const { visits, horses } = await readFolder({
      'practice=A/0.csv': [`${HEADER},client_id`, '1,2025-03-09,LF,90,Yard'],
      'practice=B/0.csv': [`${HEADER},client_id`, '1,2025-03-09,LF,95,Yard'],
      'horses/practice=B/0.csv': ['horse_id,breed', '1,Shire'],
    });
    expect(visits.flatMap((table) => texts(table, 'horse_id'))).toEqual(['A/1', 'B/1']);
    expect(visits.flatMap((table) => texts(table, 'client_id'))).toEqual(['A/Yard', 'B/Yard']);
    expect(horses.flatMap((table) => rowsOf(table).map(({ horse_id, breed }) => [horse_id, breed]))).toEqual([
      ['B/1', 'Shire'],
    ]);
  });

  it('leaves the ids of one practice as they are, and takes a column from the folder’s name', async () => {
    const { visits } = await readFolder({
      'practice=A/terrain=firm/0.csv': [HEADER, '1,2025-03-09,LF,90'],
      'practice=A/terrain=soft/0.csv': [HEADER, '1,2025-04-09,LF,90'],
    });
    expect(visits.flatMap((table) => texts(table, 'horse_id'))).toEqual(['1', '1']);
    expect(visits.flatMap((table) => texts(table, 'terrain'))).toEqual(['firm', 'soft']);
  });

  it('accounts for every row of every part, repeats across years among them', async () => {
    const { books } = await readFolder({
      'practice=A/year=2024/0.csv': [HEADER, '1,2024-03-09,LF,90', '1,2024-03-09,RF,900'],
      'practice=A/year=2025/0.csv': [HEADER, '1,2024-03-09,LF,90', '1,2025-03-09,LF,91'],
      'practice=B/year=2025/0.csv': [HEADER, '1,2024-03-09,LF,90', ',2025-03-09,LF,91'],
      'practice=B/year=2026/0.csv': [HEADER],
    });
    const { report, setAside } = books;
    expect([report.rowsRead, report.admitted, report.setAside, report.identityHolds]).toEqual([
      6,
      3,
      3,
      true,
    ]);
    expect([...numbers(setAside, 'set_aside_row')]).toEqual([1, 2, 3]);
    expect(texts(setAside, 'file')).toEqual([
      'practice=A/year=2024/0.csv',
      'practice=A/year=2025/0.csv',
      'practice=B/year=2025/0.csv',
    ]);
    expect(texts(setAside, 'reason')[1]).toBe('the same as line 2 of practice=A/year=2024/0.csv');
    expect(report.notices.join(' ')).toContain('practice=B/year=2026/0.csv');
  });

  it('refuses a horse with rows in two parts whose ids are not told apart', async () => {
    await expect(
      readFolder({
        'part=0/0.csv': [HEADER, '1,2025-03-09,LF,90'],
        'part=1/0.csv': [HEADER, '1,2025-04-09,LF,90'],
      }),
    ).rejects.toThrow('the horse “1” has rows in part=0 and in part=1');
  });
});
