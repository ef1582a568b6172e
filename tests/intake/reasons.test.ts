import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { rowsOf } from '../../src/core/table.ts';
import { admit, admitText } from './admit.ts';

const HEAD = 'horse_id,visit_date,foot';
const ROW = 'a,2026-03-09,LF';

/** A cell that cannot be read, its column, what is said of it, and what of what would be accepted. */
const CELLS: readonly (readonly [column: string, cell: string, reason: string, accepted: string])[] = [
  ['visit_date', 'yesterday', 'not a date', '2026-03-09'],
  ['visit_date', '31/02/2026', 'no such day in the calendar', '2026-03-09'],
  ['visit_date', '3/25/2026', 'no such day when read day-first', '2026-03-09'],
  ['visit_date', '46090', 'a spreadsheet’s day number, not a date', '2026-03-09'],
  ['visit_date', '2031-01-05', 'in the future', '2026-03-09'],
  ['visit_date', '1931-01-05', 'before 1980', '2026-03-09'],
  ['foot', 'fifth', 'not one of the words for foot', 'LF, RF, LH, RH'],
  ['terrain', 'gravel pit', 'not one of the words for ground', 'soft, mixed, firm, rocky'],
  ['crack_grade', 'awful', 'not a grade', '3 severe'],
  ['crack_grade', '7', 'no such grade', '3 severe'],
  ['antifungal', 'perhaps', 'not yes or no', 'yes or no'],
  ['birth_year', 'foaled late', 'not a year', 'a year, '],
  ['birth_year', '1066', 'outside 1', 'a year, '],
  ['body_mass_kg', 'heavy', 'not a mass', ' kg'],
  ['body_mass_kg', '9000', 'outside ', ' kg'],
  ['angle_before_deg', 'steep', 'not an angle', ' degrees'],
  ['angle_before_deg', '170', 'outside ', ' degrees'],
  ['toe_before_mm', 'long', 'not a length', '30 to 180 mm'],
  ['toe_before_mm', '12', 'outside 30 to 180 mm', '30 to 180 mm'],
  ['toe_before_mm', '3/8 mm', 'a fraction is read as inches, but the cell says otherwise', '30 to 180 mm'],
  ['toe_before_mm', '3 3/7', 'not a fraction of an inch (halves', '30 to 180 mm'],
  ['toe_before_mm', '3 9/8', 'not a fraction of an inch (its upper number', '30 to 180 mm'],
];

const straight = (text: string): string => text.replaceAll('’', "'");

/** One row with this cell, its mapping as proposed; numbers that state no unit are in mm, dates day-first. */
async function saidOf(column: string, cell: string) {
  const isOwn = !HEAD.split(',').includes(column);
  const header = isOwn ? `${HEAD},${column}` : HEAD;
  const cells = isOwn
    ? `${ROW},"${cell}"`
    : ROW.split(',')
        .map((was, k) => (HEAD.split(',')[k] === column ? cell : was))
        .join(',');
  const { setAside } = await admitText(`${header}\n${cells}\n`, (mapping) => ({
    ...mapping,
    dateOrder: 'day-first',
    columns: mapping.columns.map((one) =>
      one.source === column && /_mm$/.test(column)
        ? { ...one, target: column, unit: 'mm' }
        : { ...one, target: one.source },
    ) as typeof mapping.columns,
  }));
  return rowsOf(setAside);
}

describe('a cell that cannot be read', () => {
  it.each(CELLS)(
    '%s %j is told with its line, column and value: %s',
    async (column, cell, reason, accepted) => {
      const told = await saidOf(column, cell);
      expect(told).toHaveLength(1);
      expect(told[0]).toMatchObject({ line: 2, column, value: cell });
      expect(told[0]!.reason).toContain(straight(reason));
      // The days and limits are told as they were read.
      expect(String(told[0]!.reason)).toMatch(
        new RegExp(`: ${cell.replace(/[()/]/g, '.')}( mm| kg| degrees)?$`),
      );
      expect(told[0]!.accepted).toContain(accepted);
    },
  );

  it('of megabytes is told by its beginning', async () => {
    const [told] = await saidOf('toe_before_mm', 'long '.repeat(200_000).trim());
    expect(told!.reason).toMatch(/^not a length: (long ){8,12}…$/);
  });

  it('has a case above for every reason there is', () => {
    const folder = new URL('../../src/intake/values/', import.meta.url);
    const files = [
      ...readdirSync(folder).map((name) => new URL(name, folder)),
      new URL('../cell-parser.ts', folder),
    ];
    const literal = /fault\(\s*(?:'([^']+)'|"([^"]+)"|`([^`$]+))/g;
    const reasons = files.flatMap((file) =>
      [...readFileSync(file, 'utf8').matchAll(literal)].map(([, a, b, c]) => (a ?? b ?? c) as string),
    );
    const cases = CELLS.map(([, , reason]) => straight(reason));
    // Said by the reader of numbers, in whose place each kind of column says its own; and asked before any row is read.
    const never = ['not a number', 'could be day-first or month-first'];
    expect(reasons.length).toBeGreaterThan(12);
    const untried = [...new Set(reasons)].filter(
      (one) =>
        !never.includes(one) &&
        !cases.some((said) => said.startsWith(one.trim().slice(0, 30)) || one.startsWith(said)),
    );
    expect(untried).toEqual([]);
  });
});

describe('a row as a whole', () => {
  const FOOT = 'a,2026-03-09,RF,80';
  it.each([
    ['too few cells', 'b,2026-03-09', 'too few cells: 2 where the header has 4', 'one cell for each column'],
    ['too many', `${FOOT},1,2`, 'too many cells: 6 where the header has 4', 'one cell for each column'],
    [
      'an open quotation mark',
      'b,2026-03-09,"LF,80',
      'a quotation mark opens in this line',
      'one cell for each',
    ],
    ['the header again', `${HEAD},toe_before_mm`, 'a repeat of the header', 'the header once'],
    ['totals', 'Total,,,160', 'a row of totals', 'a row for each visit'],
    ['the same again', FOOT, 'the same as line 2', 'one row for this foot on this day'],
    ['another length', 'a,2026-03-09,RF,81', 'differs from line 2', 'one row for this foot on this day'],
    ['no horse', ',2026-03-09,LF,80', 'horse is missing', 'text'],
  ])('with %s is told with its line, itself and what would be accepted', async (_, row, reason, accepted) => {
    const { setAside } = await admitText(`${HEAD},toe_before_mm\n${FOOT}\n${row}\n`);
    const told = rowsOf(setAside).find(({ line }) => line === 3);
    expect(told?.reason).toContain(reason);
    expect(told?.accepted).toContain(accepted);
    expect(told?.raw).toBe(row);
  });

  it('names both lengths where the toe grew by being trimmed', async () => {
    const { setAside } = await admitText(`${HEAD},toe_before_mm,toe_after_mm\n${ROW},80,92\n`);
    expect(rowsOf(setAside)[0]).toMatchObject({
      line: 2,
      column: 'toe_after_mm',
      value: '92',
      reason: 'the toe is 12 mm longer after the trim (92 mm) than before (80 mm): the two may be swapped',
      accepted: 'at most 3 mm more than before the trim',
    });
  });

  it('of four feet with nothing recorded says so', async () => {
    const text = 'horse,date,LF toe,RF toe\na,2026-03-09,80,81\nb,2026-03-09,,\n';
    const { setAside } = await admit([{ name: 'wide.csv', text }]);
    expect(rowsOf(setAside)).toMatchObject([
      {
        line: 3,
        reason: 'nothing is recorded for any foot',
        accepted: 'a measure or a finding for one foot',
      },
    ]);
  });
});
