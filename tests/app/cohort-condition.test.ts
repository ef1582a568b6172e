import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { loadHerd } from '../../src/analyses/load-herd.ts';
import { setCohort } from '../../src/analyses/set-cohort.ts';
import { cohortWhere, cohortWords } from '../../src/app/cohort.ts';
import { type Cohort, EVERYONE } from '../../src/app/cohort-choice.ts';
import type { CohortCondition } from '../../src/app/cohort-condition.ts';
import { rowsOf } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { NO_HORSES, visitTable } from '../herd-fixture.ts';

let engine: Engine;
beforeAll(async () => {
  engine = await openNodeEngine();
  const visit = (horse_id: string, visit_date: string, toe_before_mm: number | null, more = {}) => ({
    horse_id,
    visit_date,
    foot: 'LF',
    toe_before_mm,
    separation_grade: 0,
    ...more,
  });
  await loadHerd(
    engine,
    {
      visits: visitTable([
        visit('A', '2026-01-10', 90, { terrain: 'soft', horse_name: "O'Hara" }),
        visit('A', '2026-02-20', 82.55, { separation_grade: 2 }),
        visit('A', '2026-04-01', 85, { antifungal: true }),
        visit('B', '2026-01-15', null, { terrain: 'rocky' }),
        visit('B', '2026-03-01', 88),
      ]),
      horses: NO_HORSES,
    },
    { hemisphere: 'north' },
  );
});
afterAll(() => engine.close());

const condition = (column: string, test: CohortCondition['test'], value: string | null): CohortCondition => ({
  column,
  label: column,
  kind:
    column === 'visit_date'
      ? 'day'
      : column === 'terrain'
        ? 'level'
        : column === 'antifungal'
          ? 'boolean'
          : column === 'toe_before_mm'
            ? 'length'
            : 'text',
  test,
  value,
});

/** The visits and the cycles (by their first day) that a cohort leaves. */
async function seen(cohort: Partial<Cohort>): Promise<[string, string]> {
  await setCohort(engine, cohortWhere({ ...EVERYONE, ...cohort }));
  const days = async (relation: string) =>
    rowsOf(
      await engine.query(
        `SELECT horse_id || strftime(visit_date, '%m%d') AS day FROM ${relation} ORDER BY horse_id, visit_date`,
      ),
    )
      .map(({ day }) => day)
      .join(' ');
  return [await days('foot_visit'), await days('trim_cycle')];
}

describe('conditions of a cohort, in the engine', () => {
  test('hold of visits, and of the cycles that begin with them', async () => {
    expect(await seen({})).toEqual(['A0110 A0220 A0401 B0115 B0301', 'A0110 A0220 B0115']);
    expect(await seen({ conditions: [condition('toe_before_mm', 'at least', '88')] })).toEqual([
      'A0110 B0301',
      'A0110',
    ]);
    expect(await seen({ conditions: [condition('terrain', 'is', 'gravel')] })).toEqual(['B0115', 'B0115']);
  });

  test('read units, days, words and missing values', async () => {
    const visits = async (...conditions: CohortCondition[]) => (await seen({ conditions }))[0];
    expect(await visits(condition('toe_before_mm', 'is', '3 1/4 in'))).toBe('A0220');
    expect(await visits(condition('toe_before_mm', 'is not', '3 1/4 in'))).toBe('A0110 A0401 B0115 B0301');
    expect(await visits(condition('toe_before_mm', 'missing', null))).toBe('B0115');
    expect(
      await visits(
        condition('toe_before_mm', 'present', null),
        condition('visit_date', 'at most', '2026-02-20'),
      ),
    ).toBe('A0110 A0220');
    expect(await visits(condition('antifungal', 'is', 'yes'))).toBe('A0401');
    expect(await visits(condition('horse_name', 'is', "o'hara"))).toBe('A0110');
    expect(await visits(condition('horse_name', 'contains', "'HA"))).toBe('A0110');
    expect(await visits(condition('terrain', 'is not', 'soft'))).toBe('A0220 A0401 B0115 B0301');
  });

  test('tell what a foot has had before, ever and never', async () => {
    const history = (when: 'before' | 'ever' | 'never') =>
      seen({ histories: [{ problem: 'separation', when }] });
    expect(await history('before')).toEqual(['A0401', '']);
    expect(await history('ever')).toEqual(['A0110 A0220 A0401', 'A0110 A0220']);
    expect(await history('never')).toEqual(['B0115 B0301', 'B0115']);
  });

  test('take SQL as well, a comment at its end included, and all together', async () => {
    expect((await seen({ sql: 'toe_before_mm < 86 -- short ones' }))[0]).toBe('A0220 A0401');
    const all = {
      sql: 'toe_before_mm < 86',
      histories: [{ problem: 'separation', when: 'before' } as const],
      conditions: [condition('antifungal', 'is', 'yes')],
    };
    expect((await seen(all))[0]).toBe('A0401');
    await expect(seen({ sql: 'toe_before_mm < 86; DROP TABLE visit_row' })).rejects.toThrow();
    expect((await seen({}))[0]).toBe('A0110 A0220 A0401 B0115 B0301');
  });

  test('are refused with a sentence where a value is none of the column’s', () => {
    const where = (value: string) =>
      cohortWhere({ ...EVERYONE, conditions: [condition('toe_before_mm', 'at least', value)] });
    expect(() => where('long')).toThrow('toe_before_mm: not a length: long. Accepted: 30 to 180 mm');
    expect(() => where(' ')).toThrow('needs a value to compare with');
  });

  test('are said in words', () => {
    const cohort: Cohort = {
      ...EVERYONE,
      conditions: [{ ...condition('toe_before_mm', 'at least', '88'), label: 'Toe length before the trim' }],
      histories: [{ problem: 'crack', when: 'never' }],
      sql: 'a >\n 1',
    };
    expect(cohortWords(cohort)).toBe(
      'toe length before the trim is at least 88; feet with crack at no visit; where a > 1',
    );
  });
});
