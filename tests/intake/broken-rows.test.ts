import { describe, expect, it } from 'vitest';
import { numbers, rowsOf, type Table, texts } from '../../src/core/table.ts';
import { BROKEN_KEPT } from '../../src/intake/broken-rows.ts';
import { carefully, openDelimited } from '../../src/intake/csv-source.ts';
import { rawCell } from '../../src/intake/source.ts';
import { admitText, bytesOf } from './admit.ts';

const HEADER = 'horse,date,foot,notes\n';
const good = (k: number): string => `h${k},2026-03-09,LF,#\n`;

/** How many rows the table of rows set aside tells of: a row with two faults once, a run by its number. */
function rowsTold(setAside: Table): number {
  const first = new Map<number, number>();
  const counted = numbers(setAside, 'rows');
  numbers(setAside, 'set_aside_row').forEach((row, i) => {
    first.set(row, counted[i] as number);
  });
  return [...first.values()].reduce((sum, rows) => sum + rows, 0);
}

describe('broken rows beyond those that are kept', () => {
  const extra = 7;

  it('are told as a run of lines, and counted', async () => {
    const text = `${HEADER}${good(1)}${'x\n'.repeat(BROKEN_KEPT + extra)}${good(2)}`;
    const { admitted, setAside, report } = await admitText(text);
    expect(report).toMatchObject({
      rowsRead: BROKEN_KEPT + extra + 2,
      admitted: 2,
      setAside: BROKEN_KEPT + extra,
      identityHolds: true,
    });
    expect(report.files[0]).toMatchObject({ sourceRows: report.rowsRead, unusableRows: report.setAside });
    expect(rowsTold(setAside)).toBe(report.setAside);
    const last = rowsOf(setAside).at(-1);
    // The header, a good row and those kept stand above.
    expect(last).toMatchObject({ line: BROKEN_KEPT + 3, rows: extra, raw: 'x', horse_id: null });
    expect(last?.reason).toBe(
      `too few cells: 1 where the header has 4; so it is with all ${extra} rows from here to line ${BROKEN_KEPT + 2 + extra}`,
    );
    expect([...numbers(admitted, 'source_line')]).toEqual([2, BROKEN_KEPT + 3 + extra]);
  });

  it('make another run after a sound row, a blank line not, and where the reason is another', async () => {
    const some = ['x', 'x', '', 'x', 'a,b', 'h3,2026-03-10,LF,', 'x', 'a,b'].join('\n');
    const { setAside, report } = await admitText(`${HEADER}${'x\n'.repeat(BROKEN_KEPT)}${some}\n`);
    const from = BROKEN_KEPT + 2;
    const runs = rowsOf(setAside).slice(BROKEN_KEPT);
    expect(runs.map(({ line, rows, raw }) => [line, rows, raw])).toEqual([
      [from, 3, 'x'],
      [from + 4, 1, 'a,b'],
      [from + 6, 1, 'x'],
      [from + 7, 1, 'a,b'],
    ]);
    expect(runs[1]?.reason).toBe('too few cells: 2 where the header has 4');
    expect(report).toMatchObject({ admitted: 1, setAside: BROKEN_KEPT + 6, identityHolds: true });
  });

  it('are none in a file of so many: each has its line', async () => {
    const { setAside } = await admitText(`${HEADER}${'x\n'.repeat(BROKEN_KEPT)}${good(1)}`);
    expect(setAside.rowCount).toBe(BROKEN_KEPT);
    expect(new Set(numbers(setAside, 'rows'))).toEqual(new Set([1]));
  });
});

it('many rows in conflict each name a few others, and how many more there are', async () => {
  const rows = Array.from({ length: 5_000 }, (_, k) => `h1,2026-03-09,LF,note ${k}`).join('\n');
  const { setAside, report } = await admitText(`${HEADER}${rows}\n`);
  expect(report).toMatchObject({ rowsRead: 5_000, admitted: 0, setAside: 5_000 });
  expect(texts(setAside, 'reason')[0]).toBe(
    'differs from line 3, line 4, line 5, line 6, line 7 and 4994 more about this foot on this day',
  );
  expect(texts(setAside, 'reason')[6]).toBe(
    'differs from line 2, line 3, line 4, line 5, line 6 and 4994 more about this foot on this day',
  );
});

describe('the line of a row', () => {
  /** Each sound row says in its notes on which line it stands. */
  const marked = (text: string): string =>
    text
      .split('\n')
      .map((line, i) => line.replace('#', `line ${i + 1}`))
      .join('\n');

  const long = 'a'.repeat(3 << 20);
  it.each([
    ['a quoted cell of 3 MB', `${good(1)}"${long}",2026-03-09,LF,\n${good(2)}"stray\n${good(3)}`],
    ['a cell of 3 MB whose quotation mark never closes', `${good(1)}"${long},2026-03-09,LF,\n${good(2)}`],
    ['the same with marks in it', `${good(1)}"${'a" '.repeat(1 << 20)},x\n${good(2)}"stray\n${good(3)}`],
    ['the same as the last line', `${good(1)}${good(2)}"${long}`],
    ['a quoted cell of 50,000 lines', `${good(1)}h9,"${'y\n'.repeat(50_000)}",LF,\n${good(2)}`],
    ['a quoted cell of blank lines', `${good(1)}h9,"${'\n'.repeat(50_000)}",LF,\n${good(2)}`],
  ])('stays right after %s', async (_, rows) => {
    const bytes = bytesOf(marked(HEADER + rows));
    for (const source of [await openDelimited('x.csv', bytes), await carefully('x.csv', bytes)]) {
      const notes = source.columns[3];
      const told = Array.from(source.lines, (line, row) => [rawCell(notes!, row), line]);
      const sound = told.filter(([text]) => String(text).startsWith('line '));
      expect(sound.length).toBe(rows.split('#').length - 1);
      for (const [text, line] of sound) expect(text).toBe(`line ${line}`);
      const total = marked(HEADER + rows).split('\n').length;
      expect(Math.max(...source.lines)).toBeLessThanOrEqual(total);
    }
  });
});
