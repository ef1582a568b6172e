import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { AnalysisDraft } from '../../src/analyses/analysis.ts';
import { isoFromDay } from '../../src/core/civil-day.ts';
import { numbers, rowsOf, texts } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { demoTables, openHerdOf, TODAY, tenHorses } from '../ten-horses.ts';
import { dayAfter, expectSound, openHerd, type Row, rowsWith, runAnalysis, tableOf } from './run-analysis.ts';

const shown = (rows: readonly Record<string, unknown>[], ...names: string[]) =>
  rows.map((row) =>
    names.map((name) => (/day|seen/.test(name) ? isoFromDay(Number(row[name])) : row[name])).join(' '),
  );

describe('one horse', () => {
  it('joins after to the next before and cuts before to after, and breaks where a reading is missing', async () => {
    const visit = (day: number, before: number | null, after: number | null): Row => ({
      horse_id: 'A',
      foot: 'LF',
      visit_date: dayAfter(day),
      toe_before_mm: before,
      toe_after_mm: after,
    });
    const engine = await openHerd([
      visit(84, 92, null),
      visit(0, null, 80),
      visit(42, 90, 81),
      visit(126, 91, 82),
    ]);
    const drafts: AnalysisDraft[] = [];
    const context = { draft: (draft: AnalysisDraft) => drafts.push(draft) };
    const result = await runAnalysis(engine, 'one-horse', { horse: 'A', years: 1 }, context);
    // What was recorded is handed over before any growth, and is as it stays.
    expect(drafts).toHaveLength(1);
    expect(drafts[0]!.withoutBands).toEqual([]);
    expect(drafts[0]!.tables.map(({ name }) => name)).toEqual(
      expect.arrayContaining(['toe', 'angles', 'heel_sole', 'strips', 'span', 'deeds']),
    );
    for (const each of drafts[0]!.tables) expect(each).toEqual(tableOf(result, each.name));
    expect(shown(rowsOf(tableOf(result, 'toe').table), 'day', 'side', 'length', 'run')).toEqual([
      '2024-03-01 after the trim 80 LF 0',
      '2024-04-12 before the trim 90 LF 0',
      '2024-04-12 after the trim 81 LF 0',
      '2024-05-24 before the trim 92 LF 0',
      // The cut of 24 May was not measured: no line from 92 down, and none up to 91.
      '2024-07-05 before the trim 91 LF 1',
      '2024-07-05 after the trim 82 LF 1',
    ]);
    await expectSound(engine, result);
  });

  it('draws a strip half way to the visits beside it, and tells clear from not looked at', async () => {
    const visit = (day: number, separation_grade: number | null): Row => ({
      horse_id: 'A',
      foot: 'RH',
      visit_date: dayAfter(day),
      separation_grade,
    });
    const engine = await openHerd([
      visit(0, 0),
      visit(40, 0),
      visit(80, 2),
      visit(120, null),
      visit(160, null),
      visit(200, 1),
    ]);
    const result = await runAnalysis(engine, 'one-horse', { horse: 'A' });
    // 40 to 80 is parted at 60, 80 to 120 at 100, 160 to 200 at 180; nothing is drawn beyond the first and last visit.
    const days = (rows: readonly Record<string, unknown>[]) =>
      rows.map((row) => [row.state, ...[row.from_day, row.to_day].map((day) => isoFromDay(Number(day)))]);
    expect(days(rowsOf(tableOf(result, 'strips').table))).toEqual([
      ['clear', dayAfter(0), dayAfter(60)],
      ['moderate', dayAfter(60), dayAfter(100)],
      ['slight', dayAfter(180), dayAfter(200)],
    ]);
    expect(days(rowsOf(tableOf(result, 'not_looked_at').table))).toEqual([
      ['not looked at', dayAfter(100), dayAfter(180)],
    ]);
    expect(numbers(tableOf(result, 'strips').table, 'n_visits')).toEqual(Float64Array.of(2, 1, 1));
    expect(result.findings[1]?.sentence).toBe(
      'At the latest visit, on 17 September 2024, these stood: slight separation in the right hind. Not looked at in any foot: frog infection, wall infection, crack, tenderness.',
    );
    await expectSound(engine, result);
  });

  it('marks what was done, and not what was left', async () => {
    const engine = await openHerd([
      {
        horse_id: 'A',
        foot: 'LF',
        visit_date: dayAfter(0),
        relief: 'none',
        protection: 'bare',
        antifungal: false,
      },
      {
        horse_id: 'A',
        foot: 'LF',
        visit_date: dayAfter(40),
        relief: 'bevel_only',
        protection: 'boot',
        antifungal: true,
      },
    ]);
    const result = await runAnalysis(engine, 'one-horse', { horse: 'A' });
    expect(shown(rowsOf(tableOf(result, 'deeds').table), 'day', 'kind', 'deed')).toEqual([
      '2024-04-10 Separated wall bevelled only',
      '2024-04-10 Left in boot',
      '2024-04-10 Treated treated for infection',
    ]);
  });

  it('says what it cannot show: one visit, a horse that is not there, no horse at all', async () => {
    const engine = await openHerd([
      { horse_id: 'A', foot: 'LF', visit_date: dayAfter(0), toe_after_mm: 80, separation_grade: 0 },
    ]);
    const once = await runAnalysis(engine, 'one-horse');
    expect(once.findings[0]?.sentence).toBe(
      'A was seen once, on 1 March 2024. Looked back on from 1 March 2024.',
    );
    expect(once.unavailable[0]?.sentence).toContain('Growth cannot be worked out here');
    await expectSound(engine, once);
    const stranger = await runAnalysis(engine, 'one-horse', { horse: 'Z' });
    expect(stranger.unavailable[0]?.sentence).toBe(
      'No horse in view has the id Z: choose another, or widen the cohort.',
    );
    await expectSound(engine, stranger);
    const none = await runAnalysis(await openHerd([]), 'one-horse');
    expect(none.unavailable[0]?.sentence).toContain('No horse is in view');
    await expectSound(engine, none);
  });
});

describe('one horse of the demo herd', () => {
  let engine: Engine;
  beforeAll(async () => {
    engine = await openHerdOf(await demoTables());
  });
  afterAll(() => engine.close());

  it('shows its feet’s growth drawn towards horses like it, the less the more it was seen', async () => {
    const plain = await runAnalysis(engine, 'growth', { by: 'breed_type', adjust: ['terrain'] });
    const result = await runAnalysis(engine, 'one-horse');
    await expectSound(engine, result);
    const { where } = result.findings[0]!.behind!;
    const horse = rowsOf(tableOf(plain, 'per_horse').table).find(
      ({ horse_id }) => where === `"horse_id" = '${horse_id}'`,
    )!;
    const own = rowsWith(result, 'growth', { who: 'this horse', when: 'over the whole year' })[0]!;
    expect(own.estimate).toBeCloseTo(Number(horse.estimate), 8);
    expect(own.conf_low).toBeCloseTo(Number(horse.conf_low), 8);
    const feet = rowsOf(tableOf(result, 'growth').table).filter(({ n_feet }) => n_feet === 1);
    expect(feet.length).toBe(8);
    const mean = feet.reduce((sum, { estimate }) => sum + Number(estimate) / 8, 0);
    expect(mean).toBeGreaterThan(Number(own.estimate) - 1);
    expect(mean).toBeLessThan(Number(own.estimate) + 1);
  });

  it('answers for a horse on each of ten with one year of visits', async () => {
    const small = await openHerdOf(await tenHorses());
    const horses = await small.query('SELECT DISTINCT horse_id FROM foot_visit ORDER BY horse_id');
    for (const horse of texts(horses, 'horse_id')) {
      await expectSound(small, await runAnalysis(small, 'one-horse', { horse }));
    }
    await small.close();
  });
});

describe('what is to grow out on one horse', () => {
  it('is dated as for the whole herd, and an injury long grown out is not told', async () => {
    const engine = await openHerdOf(await demoTables());
    const today = { today: TODAY };
    const all = rowsOf(tableOf(await runAnalysis(engine, 'grow-out', {}, today), 'projections').table);
    const horse = String(all[0]!.horse_id);
    const own = all.filter(({ horse_id }) => horse_id === horse);
    const result = await runAnalysis(engine, 'one-horse', { horse }, today);
    await expectSound(engine, result);
    const dates = (rows: readonly Record<string, unknown>[]) =>
      rows
        .map(({ foot, problem, date_from, date_to }) => [foot, problem, date_from, date_to].join(' '))
        .sort();
    expect(own.length).toBeGreaterThan(0);
    expect(dates(rowsOf(tableOf(result, 'grow_out').table))).toEqual(dates(own));
    await engine.close();
  });
});
