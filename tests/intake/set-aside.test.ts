import { describe, expect, it } from 'vitest';
import { rowsOf } from '../../src/core/table.ts';
import { columnOf } from '../../src/herd/dictionary.ts';
import { acceptedIn } from '../../src/intake/accepted.ts';
import { admitText } from './admit.ts';

const WIDE = 'horse,date,LF toe,RF toe,LH toe,RH toe,bill\n';

describe('rows that are no visits', () => {
  it('say that they repeat the header, however it is written', async () => {
    const { setAside, admitted, report } = await admitText(
      `${WIDE}a,2026-03-09,80,81,78,79,5\nHorse,DATE,LF toe,RF toe,LH toe,RH toe,bill\nb,2026-03-09,80,81,78,79,5\n`,
    );
    expect(rowsOf(setAside).map((r) => [r.line, r.foot, r.column, r.reason])).toEqual([
      [3, null, null, 'a repeat of the header'],
    ]);
    expect(admitted.rowCount).toBe(8);
    expect(report).toMatchObject({ rowsRead: 9, setAside: 1, identityHolds: true });
  });

  it('are not taken for the header where one cell is by chance like it', async () => {
    const { admitted } = await admitText(
      'horse,date,foot,notes\na,2026-03-09,LF,notes\nhorse,2026-03-09,LF,\n',
    );
    expect(admitted.rowCount).toBe(2);
  });

  it.each([
    ['wide', `${WIDE}a,2026-03-09,80,81,78,79,5\nTotal:,,,,,,5\n`],
    ['wide, with a mean of each column', `${WIDE}a,2026-03-09,80,81,78,79,5\nAverage,,80,81,78,79,5\n`],
    ['long', 'horse,date,foot,bill\na,2026-03-09,LF,5\nGrand total,,,5\n'],
    ['cut short', 'horse,date,foot,bill\na,2026-03-09,LF,5\nSumme,5\n'],
  ])('say that they hold totals: %s', async (_, text) => {
    const { setAside, report } = await admitText(text);
    expect(rowsOf(setAside).map((r) => [r.line, r.reason])).toEqual([[3, 'a row of totals, not a visit']]);
    expect(report.identityHolds).toBe(true);
  });

  it('are not totals where they have a date', async () => {
    const { admitted } = await admitText('horse,date,foot\nTotal,2026-03-09,LF\n');
    expect(rowsOf(admitted).map((r) => r.horse_id)).toEqual(['Total']);
  });
});

describe('what would be accepted', () => {
  // 30 mm is 18.9 and 180 mm 113.4 sixteenths of an inch; 1400 kg are 3086.5 lb.
  it.each([
    ['toe_before_mm', 'in', '30 to 180 mm (1 3/16 to 7 1/16 in)'],
    ['toe_before_mm', 'cm', '30 to 180 mm (3 to 18 cm)'],
    ['toe_before_mm', 'mm', '30 to 180 mm'],
    ['sole_depth_mm', 'in', '1 to 40 mm (1/16 to 1 9/16 in)'],
    ['bevel_mm', 'in', '0 to 40 mm (0 to 1 9/16 in)'],
    ['body_mass_kg', 'lb', '20 to 1400 kg (45 to 3086 lb)'],
    ['angle_before_deg', 'deg', '20 to 85 degrees'],
    ['crack_grade', null, '0 none, 1 slight, 2 moderate, 3 severe'],
  ] as const)('of %s in a file of %s', (name, unit, words) => {
    expect(acceptedIn(columnOf(name), unit)).toBe(words);
  });

  it('is told in the unit of the file', async () => {
    const { setAside } = await admitText('horse,date,foot,toe (in)\na,2026-03-09,LF,34 1/2\n');
    expect(rowsOf(setAside)[0]?.accepted).toBe('30 to 180 mm (1 3/16 to 7 1/16 in)');
  });
});
