import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { longDate } from '../../src/core/civil-day.ts';
import { rowsOf } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { demoTables, openHerdOf, TODAY, tenHorses } from '../ten-horses.ts';
import { expectSound, openHerd, type Row, rowsWith, runAnalysis, tableOf } from './run-analysis.ts';

const visit = (horse_id: string, visit_date: string, more: Row): Row => ({
  horse_id,
  foot: 'LF',
  visit_date,
  ...more,
});
/** Today is 1 January 2026. */
const [FIRST, SECOND, LAST] = ['2025-10-01', '2025-11-10', '2025-12-20'];

describe('the caseload', () => {
  it('lists every reason that holds at a horse’s latest visit, most kinds first', async () => {
    const engine = await openHerd([
      // Worse and severe: 2 then 3.
      visit('worse', SECOND, { crack_grade: 2 }),
      visit('worse', LAST, { crack_grade: 3 }),
      // Back: there, clear, there; tender as well.
      visit('back', FIRST, { separation_grade: 2 }),
      visit('back', SECOND, { separation_grade: 0 }),
      visit('back', LAST, { separation_grade: 1, sensitivity: 1 }),
      // New, slight and better: no reason.
      visit('new', SECOND, { separation_grade: 0, fungal_frog_grade: 2 }),
      visit('new', LAST, { separation_grade: 1, fungal_frog_grade: 1 }),
      // What stood at an earlier visit only is no reason.
      visit('clear', SECOND, { fungal_wall_grade: 3 }),
      visit('clear', LAST, { fungal_wall_grade: 0 }),
      // Not graded in between: back all the same, since the last graded visit was clear.
      visit('gap', FIRST, { crack_grade: 1 }),
      visit('gap', '2025-10-20', { crack_grade: 0 }),
      visit('gap', SECOND, { crack_grade: null }),
      visit('gap', LAST, { crack_grade: 1 }),
      // Off the round.
      visit('gone', '2025-03-01', { sensitivity: 3 }),
    ]);
    const result = await runAnalysis(engine, 'caseload', { due: 'usual' });
    await expectSound(engine, result);
    expect(result.counts).toMatchObject({ horses: 5, feet: 5 });
    expect(
      rowsOf(tableOf(result, 'attention').table).map(({ horse_id, all_reasons }) => [horse_id, all_reasons]),
    ).toEqual([
      ['worse', 'severe crack LF, worse (2 to 3)'],
      ['back', 'separation LF, back; tender LF (grade 1)'],
      ['gap', 'crack LF, back'],
    ]);
    expect(
      rowsOf(tableOf(result, 'reasons').table).map(({ reason, n_horses }) => [reason, n_horses]),
    ).toEqual([
      ['A tender foot', 1],
      ['A severe problem', 1],
      ['Worse than at the visit before', 1],
      ['Back after a clear visit', 2],
    ]);
    expect(result.findings.map(({ sentence }) => sentence)).toContain(
      'Of 5 horses on the round: 0 past their usual interval, 0 due within 7\u00a0days; with a tender foot 1; a severe problem 1; one worse than at the visit before 1; one back after a clear visit 2. Left out, unseen for over half a year: 1.',
    );
  });

  it('says when a horse falls due by its usual interval', async () => {
    const engine = await openHerd([
      // Usual 40 days, seen 60 days ago; usual 20 days, seen 17 days ago; usual 60, seen 12 days ago.
      ...['2025-09-23', '2025-11-02'].map((day) => visit('over', day, { toe_after_mm: 80 })),
      ...['2025-11-25', '2025-12-15'].map((day) => visit('soon', day, { toe_after_mm: 80 })),
      ...['2025-10-21', '2025-12-20'].map((day) => visit('later', day, { toe_after_mm: 80 })),
    ]);
    const result = await runAnalysis(engine, 'caseload', { due: 'usual' });
    expect(rowsOf(tableOf(result, 'attention').table).map(({ why, due_on }) => [why, due_on])).toEqual([
      ['20 days overdue', '12 December 2025'],
      ['due in 3 days', '4 January 2026'],
    ]);
    await expectSound(engine, result);
  });

  it('sets the latest season against the one before and the same a year earlier, each horse with itself', async () => {
    const seasons = { '2024-10-10': [1, 1, 1, 0], '2025-07-10': [1, 0, 0, 0], '2025-10-10': [1, 1, 1, 0] };
    const engine = await openHerd(
      Object.entries(seasons).flatMap(([day, grades]) =>
        grades.map((separation_grade, i) => visit(`H${i}`, day, { separation_grade })),
      ),
    );
    const result = await runAnalysis(engine, 'caseload');
    const before = rowsWith(result, 'changes', { against: 'the season before' })[0]!;
    // As in the test of shares: +1/2, variance 1/12, t(3) = 3.182446.
    expect(before).toMatchObject({ season: 'autumn 2025', earlier: 'summer 2025', n_horses: 4, n_visits: 8 });
    expect(before.estimate).toBeCloseTo(50, 10);
    expect(before.conf_low).toBeCloseTo(50 - 318.2446 * Math.sqrt(1 / 12), 4);
    expect(before.reading).toBe('no change that these records can tell');
    const year = rowsWith(result, 'changes', { against: 'the same season a year earlier' })[0]!;
    expect(year).toMatchObject({ earlier: 'autumn 2024', now: 0.75, before: 0.75, estimate: 0 });
    await expectSound(engine, result);
  });

  it('names each season once where problems are set against different ones', async () => {
    const days = ['2024-10-10', '2025-07-10', '2025-10-10'];
    const engine = await openHerd(
      days.flatMap((day, k) =>
        [0, 1, 2, 3].map((i) =>
          // Separation was graded in the last two seasons only.
          visit(`H${i}`, day, { separation_grade: k === 0 ? null : i % 2, fungal_wall_grade: i % 2 }),
        ),
      ),
    );
    const result = await runAnalysis(engine, 'caseload', { due: 'usual' });
    const told = result.findings.map(({ sentence }) => sentence).join(' ');
    expect(told).toContain(
      'against summer 2025 in separation, wall infection; or autumn 2024 in wall infection. Largest',
    );
    await expectSound(engine, result);
  });

  it('counts a gap among the visits where it is asked for', async () => {
    const engine = await openHerd([
      visit('A', FIRST, { separation_grade: 1, separation_height_mm: 10, terrain: 'soft' }),
      visit('A', SECOND, { separation_grade: 2, separation_height_mm: null, terrain: 'soft' }),
      visit('A', LAST, { separation_grade: 0, separation_height_mm: null, terrain: null }),
    ]);
    const result = await runAnalysis(engine, 'caseload');
    const gap = (measure: string) => rowsWith(result, 'gaps', { measure })[0];
    expect(gap('Height of a separation')).toMatchObject({ n_visits: 1, n_asked: 2, percent_missing: 50 });
    expect(gap('Ground')).toMatchObject({ n_visits: 1, n_asked: 3 });
    expect(gap('Separation')).toBeUndefined();
    await expectSound(engine, result);
  });

  it('answers for no horse, and for one seen once', async () => {
    const none = await openHerd([]);
    const nothing = await runAnalysis(none, 'caseload');
    expect(nothing.unavailable[0]?.sentence).toContain('No horse in view was seen within half a year');
    await expectSound(none, nothing);
    const one = await openHerd([visit('A', LAST, { separation_grade: 0 })]);
    await expectSound(one, await runAnalysis(one, 'caseload'));
  });
});

describe('the caseload of the demo herd', () => {
  let engine: Engine;
  beforeAll(async () => {
    engine = await openHerdOf(await demoTables());
  });
  afterAll(() => engine.close());

  it('agrees with the plan on dates and with the shares by season on changes', async () => {
    const today = { today: TODAY };
    const result = await runAnalysis(engine, 'caseload', {}, today);
    await expectSound(engine, result);
    const plan = await runAnalysis(engine, 'interval-plan', { weeks: [6] }, today);
    const due = rowsOf(tableOf(plan, 'due').table);
    const over = due.filter(({ days_over }) => Number(days_over) > 0);
    expect(over.length).toBeGreaterThan(10);
    expect(rowsWith(result, 'reasons', { reason: 'Past its date' })[0]?.n_horses).toBe(over.length);
    const listed = rowsOf(tableOf(result, 'attention').table);
    for (const { horse_id, due_on } of due) {
      const row = listed.find((each) => each.horse_id === horse_id);
      if (row) expect(row.due_on, String(horse_id)).toBe(longDate(Number(due_on)));
    }
    const shares = await runAnalysis(engine, 'prevalence', {
      problems: ['crack'],
      by: 'quarter',
      at: 'every',
    });
    const crack = rowsWith(result, 'changes', {
      problem: 'Crack',
      against: 'the same season a year earlier',
    })[0]!;
    const level = String(crack.season).split(' ').reverse().join(' ');
    const contrast = rowsWith(shares, 'contrasts', { level })[0]!;
    expect(crack.estimate).toBeCloseTo(100 * Number(contrast.estimate), 10);
    expect(crack.conf_high).toBeCloseTo(100 * Number(contrast.conf_high), 10);
  });

  it('answers for ten horses with one year of visits', async () => {
    const small = await openHerdOf(await tenHorses());
    await expectSound(small, await runAnalysis(small, 'caseload'));
    await small.close();
  });
});
