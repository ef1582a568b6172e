import { describe, expect, it } from 'vitest';
import { ANALYSES } from '../../src/analyses/index.ts';
import { dayAfter, expectSound, openHerd, type Row, runAnalysis } from './run-analysis.ts';

const FEET = ['LF', 'RF', 'LH', 'RH'] as const;

interface Herd {
  readonly horses: number;
  readonly visits: number;
  readonly days?: (visit: number, horse: number) => number;
  readonly row?: (at: { horse: number; foot: number; visit: number }) => Row;
}

/** A herd with something in every column that an analysis reads; `row` overrides. */
function herd({ horses, visits, days = (visit, horse) => visit * (40 + (horse % 3) * 7), row }: Herd): Row[] {
  const rows: Row[] = [];
  for (let horse = 0; horse < horses; horse += 1) {
    FEET.forEach((name, foot) => {
      for (let visit = 0; visit < visits; visit += 1) {
        // A fixed scatter, the same on every machine.
        const turn = Math.sin(12.9898 * (horse + 1) + 78.233 * (foot + 1) + 37.719 * (visit + 1));
        const wobble = turn * 43758.5453 - Math.floor(turn * 43758.5453);
        rows.push({
          horse_id: `H${horse}`,
          foot: name,
          visit_date: dayAfter(days(visit, horse)),
          breed_type: ['pony', 'draft', 'light'][horse % 3]!,
          client_id: `Y${horse % 2}`,
          birth_year: 2005 + (horse % 18),
          terrain: ['soft', 'mixed', 'rocky'][(horse + visit) % 3]!,
          moisture: ['dry', 'wet'][(horse + 2 * visit) % 2]!,
          protection: ['bare', 'boot'][(foot + visit) % 2]!,
          toe_before_mm: 88 + 3 * wobble,
          toe_after_mm: 80,
          heel_before_mm: 40 + wobble,
          heel_after_mm: 35,
          angle_before_deg: 50 + wobble,
          angle_after_deg: 50,
          marker_id: foot === 0 ? 'm' : null,
          marker_mm: foot === 0 ? 3 + 9 * visit + wobble : null,
          // In runs, two visits of seven: grades drawn anew at each visit would fit no rates.
          separation_grade: (visit + 2 * foot + 3 * horse) % 7 < 2 ? 1 : 0,
          separation_site: 'within_wall',
          separation_to_white_line_mm: 3 + 6 * wobble,
          separation_height_mm: 5 + wobble,
          relief: ['relieved', 'bevel_only'][(foot + horse) % 2]!,
          wall_broken: wobble < 0.4,
          crack_origin: 'ground',
          coronet_injury: wobble > 0.9,
          fungal_frog_grade: wobble < 0.3 ? 2 : 0,
          fungal_wall_grade: wobble > 0.8 ? 1 : 0,
          crack_grade: wobble < 0.2 ? 1 : 0,
          sensitivity: wobble > 0.6 ? 1 : 0,
          ...row?.({ horse, foot, visit }),
        });
      }
    });
  }
  return rows;
}

const grades = (grade: number | null): Row => ({
  separation_grade: grade,
  fungal_frog_grade: grade,
  fungal_wall_grade: grade,
  crack_grade: grade,
  sensitivity: grade,
});

/** Herds whose rows behind each answer are opened too; `tests/hard-cases` has many more, and looks at the answers alone. */
const CASES: Readonly<Record<string, readonly Row[]>> = {
  'an ordinary small herd': herd({ horses: 9, visits: 12 }),
  'one horse': herd({ horses: 1, visits: 7 }),
  'one horse, one foot, one visit': herd({ horses: 1, visits: 1 }).slice(0, 1),
  'nothing graded and nothing measured': herd({
    horses: 3,
    visits: 4,
    row: () => ({
      ...grades(null),
      toe_before_mm: null,
      heel_before_mm: null,
      angle_before_deg: null,
      marker_mm: null,
    }),
  }),
  'every clear foot has it back, every affected foot clears': herd({
    horses: 6,
    visits: 6,
    row: ({ visit }) => grades(visit % 2),
  }),
  'ground, moisture and breed that say the same': herd({
    horses: 9,
    visits: 7,
    row: ({ horse }) => ({
      terrain: ['soft', 'mixed', 'rocky'][horse % 3]!,
      moisture: ['dry', 'wet', 'wet'][horse % 3]!,
      client_id: `Y${horse % 3}`,
    }),
  }),
  'visits given twice, with grades that disagree': herd({
    horses: 6,
    visits: 8,
    days: (visit) => Math.floor(visit / 2) * 45,
    row: ({ visit }) => grades(visit % 2),
  }),
  'measurements that agree exactly': herd({
    horses: 5,
    visits: 6,
    days: (visit) => visit * 30,
    row: ({ visit }) => ({
      toe_before_mm: 88,
      heel_before_mm: 40,
      angle_before_deg: 51,
      marker_mm: 3 + 9 * visit,
      marker_id: 'm',
    }),
  }),
};

describe.each(Object.entries(CASES))('%s', (_name, rows) => {
  it('gets a number or a sentence from every analysis, never a broken one', async () => {
    const engine = await openHerd(rows);
    for (const { name: analysis, options } of ANALYSES) {
      const quick = options.safeParse({ replicates: 50 }).success ? { replicates: 50 } : {};
      await expectSound(engine, await runAnalysis(engine, analysis, quick));
    }
    for (const problem of ['frog_infection', 'tenderness'] as const) {
      await expectSound(engine, await runAnalysis(engine, 'onset-clearing', { problem, by: 'age_band' }));
      await expectSound(
        engine,
        await runAnalysis(engine, 'recurrence', { problem, by: 'foot', replicates: 50 }),
      );
    }
    await expectSound(engine, await runAnalysis(engine, 'prevalence', { by: 'quarter', at: 'every' }));
    await expectSound(
      engine,
      await runAnalysis(engine, 'growth', { by: 'season', adjust: ['foot', 'client_id'] }),
    );
  }, 120_000);
});

it('each analysis says something of an ordinary herd', async () => {
  const engine = await openHerd(CASES['an ordinary small herd']!);
  const silent = [];
  for (const { name } of ANALYSES) {
    const { findings } = await runAnalysis(
      engine,
      name,
      ['onset-clearing', 'interval-effect', 'client-audit'].includes(name) ? { adjust: [] } : {},
    );
    if (findings.length === 0) silent.push(name);
  }
  expect(silent).toEqual([]);
});
