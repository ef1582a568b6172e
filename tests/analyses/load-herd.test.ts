import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { cohortCondition, countHerd, loadHerd } from '../../src/analyses/load-herd.ts';
import { setCohort } from '../../src/analyses/set-cohort.ts';
import { makeTable, rowsOf, textColumn } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { visitTable } from '../herd-fixture.ts';

let engine: Engine;
beforeAll(async () => {
  engine = await openNodeEngine();
  await loadHerd(
    engine,
    {
      // Unsorted on purpose; ground belongs to the weeks before the visit at which it is noted.
      visits: visitTable([
        {
          horse_id: 'B',
          visit_date: '2024-03-01',
          foot: 'LF',
          toe_before_mm: 90,
          toe_after_mm: 80,
          terrain: 'soft',
          separation_grade: 0,
          breed: 'Exmoor',
        },
        {
          horse_id: 'A',
          visit_date: '2024-05-12',
          foot: 'LF',
          toe_before_mm: 91,
          toe_after_mm: 82,
          terrain: 'rocky',
          separation_grade: 2,
        },
        {
          horse_id: 'A',
          visit_date: '2024-03-31',
          foot: 'LF',
          toe_before_mm: 89,
          toe_after_mm: 80,
          terrain: 'soft',
          separation_grade: 0,
        },
        {
          horse_id: 'A',
          visit_date: '2025-12-01',
          foot: 'LF',
          toe_before_mm: null,
          toe_after_mm: 82,
          terrain: null,
          separation_grade: null,
        },
        {
          horse_id: 'B',
          visit_date: '2024-03-04',
          foot: 'LF',
          toe_before_mm: 81,
          toe_after_mm: 80,
          terrain: 'soft',
          separation_grade: 0,
          breed: 'Exmoor',
        },
      ]),
      horses: makeTable({
        horse_id: textColumn(['A']),
        breed: textColumn(['Clydesdale']),
        client_id: textColumn(['Y1']),
      }),
    },
    { hemisphere: 'north' },
  );
});
afterAll(() => engine.close());

describe('trim_cycle', () => {
  test('joins each foot’s visit to its next, with what was done at the start and found at the end', async () => {
    const rows = rowsOf(
      await engine.query(
        'SELECT horse_id, breed_type, days, toe_regrowth_mm, terrain, separation_start, separation_end, season, interval_band, flag FROM trim_cycle ORDER BY horse_id, visit_date',
      ),
    );
    expect(rows).toEqual([
      {
        horse_id: 'A',
        breed_type: 'draft',
        days: 42,
        toe_regrowth_mm: 11,
        terrain: 'rocky',
        separation_start: false,
        separation_end: true,
        season: 'spring',
        interval_band: '6 weeks',
        flag: null,
      },
      {
        horse_id: 'A',
        breed_type: 'draft',
        days: 568,
        toe_regrowth_mm: null,
        terrain: 'rocky',
        separation_start: true,
        separation_end: null,
        season: 'winter',
        interval_band: '10 weeks and over',
        flag: 'over 365 days',
      },
      {
        horse_id: 'B',
        breed_type: 'pony',
        days: 3,
        toe_regrowth_mm: 1,
        terrain: 'soft',
        separation_start: false,
        separation_end: false,
        season: 'spring',
        interval_band: 'under 5 weeks',
        flag: 'under 7 days',
      },
    ]);
  });

  test('holds the means of the annual cosine and sine over the cycle', async () => {
    const [row] = rowsOf(
      await engine.query(
        "SELECT season_cos, season_sin, day_start, day_end FROM (SELECT *, (visit_date - DATE '1970-01-01')::DOUBLE AS day_start, (next_date - DATE '1970-01-01')::DOUBLE AS day_end FROM trim_cycle) WHERE horse_id = 'A' AND days = 42",
      ),
    );
    const omega = (2 * Math.PI) / 365.25;
    const steps = 20_000;
    let cos = 0;
    let sin = 0;
    for (let i = 0; i < steps; i++) {
      const t = Number(row?.day_start) + (42 * (i + 0.5)) / steps;
      cos += Math.cos(omega * t) / steps;
      sin += Math.sin(omega * t) / steps;
    }
    expect(Number(row?.season_cos)).toBeCloseTo(cos, 8);
    expect(Number(row?.season_sin)).toBeCloseTo(sin, 8);
  });
});

describe('the cohort', () => {
  test('narrows both relations and counts what is left', async () => {
    await setCohort(engine, "breed_type = 'draft' -- only these");
    expect(await countHerd(engine)).toMatchObject({
      horses: 1,
      feet: 1,
      visits: 3,
      cycles: 2,
      flaggedCycles: 1,
    });
    await setCohort(engine, 'TRUE');
    expect(await countHerd(engine)).toMatchObject({ horses: 2, footVisits: 5, cycles: 3 });
  });

  test('is set by comparisons and by SQL in turn, and tells which rows it has', async () => {
    const among = async (): Promise<unknown[]> => {
      const tables = [
        'foot_visit',
        'cohort_visit',
        'cohort_visit_no',
        'trim_cycle',
        'cohort_cycle',
        'cohort_cycle_no',
      ];
      const counts = tables.map((name) => `(SELECT count(*) FROM ${name}) AS ${name}`).join(', ');
      return Object.values(rowsOf(await engine.query(`SELECT ${counts}`))[0]!);
    };
    for (const where of [
      "horse_id = 'A'",
      "lower(horse_id) = 'a'",
      "visit_date < DATE '2099-01-01' AND horse_id IN ('A')",
      "horse_id = 'A' AND foot_end IN ('fore') -- and no other",
    ]) {
      await setCohort(engine, where);
      expect([where, ...(await among())]).toEqual([where, 3, 3, 3, 2, 2, 2]);
      expect(await cohortCondition(engine)).toBe(where);
    }
    const views = async (): Promise<unknown> =>
      rowsOf(
        await engine.query("SELECT view_oid FROM duckdb_views() WHERE view_name = 'foot_visit' ORDER BY 1"),
      );
    await setCohort(engine, 'TRUE');
    const before = await views();
    await setCohort(engine, "terrain = 'soft' AND foot_end = 'fore'");
    // They stay, and look at other rows.
    expect(await views()).toEqual(before);
    expect(await among()).toEqual([3, 3, 3, 1, 1, 1]);
    await setCohort(engine, 'TRUE');
    expect(await among()).toEqual([5, 5, 5, 3, 3, 3]);
  });

  test.each(['no_such_column = 1', 'horse_id IN', 'TRUE); DROP TABLE visit_row; SELECT (1', 'horse_id ='])(
    'refuses %s and stays as it was',
    async (where) => {
      await expect(setCohort(engine, where)).rejects.toThrow();
      expect(await countHerd(engine)).toMatchObject({ horses: 2, footVisits: 5 });
    },
  );
});

describe('spells', () => {
  test('each boundary lies between two visits, ungraded visits are passed over', async () => {
    const grades: [string, number | null][] = [
      ['2024-01-01', 1],
      ['2024-02-01', 0],
      ['2024-03-01', null],
      ['2024-04-01', 0],
      ['2024-05-01', 2],
      ['2024-06-01', 0],
    ];
    await loadHerd(
      engine,
      {
        visits: visitTable(
          grades.map(([visit_date, separation_grade]) => ({
            horse_id: 'C',
            foot: 'RH',
            visit_date,
            separation_grade,
          })),
        ),
        horses: makeTable({ horse_id: textColumn([]) }),
      },
      { hemisphere: 'south' },
    );
    const rows = rowsOf(
      await engine.query(
        "SELECT present, previous_seen::VARCHAR AS after, first_seen::VARCHAR AS by, last_seen::VARCHAR AS last, next_seen::VARCHAR AS next, visits, season FROM spell WHERE problem = 'separation' ORDER BY spell_number",
      ),
    );
    expect(rows).toEqual([
      {
        present: true,
        after: null,
        by: '2024-01-01',
        last: '2024-01-01',
        next: '2024-02-01',
        visits: 1,
        season: 'summer',
      },
      {
        present: false,
        after: '2024-01-01',
        by: '2024-02-01',
        last: '2024-04-01',
        next: '2024-05-01',
        visits: 2,
        season: 'summer',
      },
      {
        present: true,
        after: '2024-04-01',
        by: '2024-05-01',
        last: '2024-05-01',
        next: '2024-06-01',
        visits: 1,
        season: 'autumn',
      },
      {
        present: false,
        after: '2024-05-01',
        by: '2024-06-01',
        last: '2024-06-01',
        next: null,
        visits: 1,
        season: 'winter',
      },
    ]);
    expect(rowsOf(await engine.query("SELECT count(*) AS n FROM spell WHERE problem = 'crack'"))).toEqual([
      { n: 0 },
    ]);
  });
});
