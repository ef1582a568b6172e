import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { dayFromIso } from '../../src/core/civil-day.ts';
import { numbers, rowsOf, texts } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { unfoundIntervals } from '../batch/read-results.ts';
import { demoTables, openHerdOf, tenHorses } from '../ten-horses.ts';
import {
  dayAfter,
  estimateOf,
  expectSound,
  openHerd,
  type Row,
  rowsWith,
  runAnalysis,
  tableOf,
} from './run-analysis.ts';

const seen = (
  horse_id: string,
  visit_date: string,
  separation_grade: number | null,
  extra: Row = {},
): Row => ({
  horse_id,
  foot: 'LF',
  visit_date,
  separation_grade,
  ...extra,
});

const said = (result: { findings: readonly { sentence: string }[] }): string =>
  result.findings.map(({ sentence }) => sentence).join(' ');

describe('case trends', () => {
  const two = [
    // Clear on 21 January, found on 10 February: 20 days, 10 of them in each month.
    seen('A', '2025-01-21', 0),
    seen('A', '2025-02-10', 1, { antifungal: true }),
    seen('A', '2025-03-10', 2, { antifungal: false }),
    seen('A', '2025-04-10', 0),
    // Clear throughout; a visit at which it was not graded says nothing.
    seen('B', '2025-01-11', 0),
    seen('B', '2025-02-10', null),
    seen('B', '2025-03-12', 0),
  ];

  it('spreads a new case over the days since the visit before, and counts it at the visit beside it', async () => {
    const engine = await openHerd(two);
    const result = await runAnalysis(engine, 'case-trends');
    const of = (month_text: string) => rowsWith(result, 'monthly', { month_text })[0]!;
    expect(of('January 2025')).toMatchObject({ spread: 0.5, by_visit: 0, n_feet: 2 });
    expect(of('February 2025')).toMatchObject({ spread: 0.5, by_visit: 1 });
    // Clear days in January: B's 20; A's 10 less 10²/(2·20) = 7.5. A's other 10 days: 10 − (20² − 10²)/40 = 2.5; B's 28.
    expect(of('January 2025').estimate).toBeCloseTo((100 * 30.4375 * 0.5) / 27.5, 10);
    expect(of('February 2025').estimate).toBeCloseTo((100 * 30.4375 * 0.5) / 30.5, 10);
    expect(of('March 2025')).toMatchObject({ spread: 0, by_visit: 0 });
    const byVisit = await runAnalysis(engine, 'case-trends', { dating: 'visit' });
    expect(rowsWith(byVisit, 'monthly', { month_text: 'February 2025' })[0]!.cases).toBe(1);
    await expectSound(engine, result);
    await expectSound(engine, byVisit);
  });

  it('lists each case between its visits, with its grades, treatment and whether it stands', async () => {
    const engine = await openHerd([...two, seen('C', '2025-03-01', 3), seen('C', '2025-04-01', 3)]);
    const result = await runAnalysis(engine, 'case-trends');
    const day = (iso: string) => dayFromIso(iso);
    expect(rowsWith(result, 'cases', { horse_id: 'A' })).toMatchObject([
      {
        foot: 'left fore',
        first_grade: 1,
        worst_grade: 2,
        last_clear: day('2025-01-21'),
        first_seen: day('2025-02-10'),
        last_seen: day('2025-03-10'),
        clear_by: day('2025-04-10'),
        standing: 'no',
        treated: 'yes',
        n_visits: 2,
      },
    ]);
    expect(rowsWith(result, 'cases', { horse_id: 'C' })).toMatchObject([
      { last_clear: null, clear_by: null, standing: 'yes', treated: 'not recorded' },
    ]);
    expect(said(result)).toContain('2 cases of separation of grade 1 or more are on record; 1 stood at');
    const standing = await runAnalysis(engine, 'case-trends', { list: 'standing' });
    expect(texts(tableOf(standing, 'cases').table, 'horse_id')).toEqual(['C']);
    await expectSound(engine, result);
  });

  it('counts by the case definition asked for, and says which', async () => {
    const engine = await openHerd(two);
    const result = await runAnalysis(engine, 'case-trends', { grade: 2 });
    // From grade 2 on the foot is clear until February and new between 10 February and 10 March: 18 of 28 days before March.
    expect(rowsWith(result, 'monthly', { month_text: 'February 2025' })[0]!.spread).toBeCloseTo(18 / 28, 12);
    expect(said(result)).toContain('separation of grade 2 or more');
    expect(result.assumes.join(' ')).toContain('must never be added up');
    await expectSound(engine, result);
  });

  it('counts standing feet at a month’s end by what was last seen of them', async () => {
    const rows = ['A', 'B', 'C', 'D'].flatMap((horse, i) => [
      seen(horse, '2025-01-20', i === 0 ? 1 : 0),
      seen(horse, '2025-02-20', i <= 1 ? 1 : 0),
      seen(horse, '2025-03-05', 0),
    ]);
    const engine = await openHerd(rows);
    const result = await runAnalysis(engine, 'case-trends');
    expect(rowsOf(tableOf(result, 'standing').table)).toMatchObject([
      { month: dayFromIso('2025-01-01'), affected: 1, n_feet: 4, estimate: 0.25 },
      { month: dayFromIso('2025-02-01'), affected: 2, n_feet: 4, estimate: 0.5 },
    ]);
    await expectSound(engine, result);
  });

  it('leaves out feet unseen for over a year, and says how many times', async () => {
    const engine = await openHerd([seen('A', '2022-01-01', 0), seen('A', '2023-06-01', 1), ...two]);
    const result = await runAnalysis(engine, 'case-trends');
    expect(numbers(tableOf(result, 'monthly').table, 'by_visit').reduce((a, b) => a + b, 0)).toBe(1);
    expect(said(result)).toContain('2 times a foot was graded again only after more than a year');
    await expectSound(engine, result);
  });

  it('has a sentence for an empty herd and for one horse', async () => {
    for (const rows of [[], [seen('A', '2025-01-01', 0)], two.slice(0, 4)]) {
      const engine = await openHerd(rows);
      await expectSound(engine, await runAnalysis(engine, 'case-trends', { by: 'terrain' }));
    }
  });
});

/** Horses with two feet seen every six weeks for three years, with a chance of a new case at each visit. */
function herd(chance: (day: number) => number, seed: number): Row[] {
  const random = seededRandom(seed);
  return Array.from({ length: 60 }, (_, horse) => ['LF', 'RF'].map((foot) => ({ horse, foot })))
    .flat()
    .flatMap(({ horse, foot }) => {
      let grade = 0;
      return Array.from({ length: 26 }, (_, visit) => {
        const day = (horse % 42) + 42 * visit;
        grade = grade === 1 ? (random.uniform() < 0.6 ? 0 : 1) : random.uniform() < chance(day) ? 1 : 0;
        return { horse_id: `H${horse}`, foot, visit_date: dayAfter(day), separation_grade: grade };
      });
    });
}

describe('signals', () => {
  it('are given where cases triple in the months watched, and say when', async () => {
    const engine = await openHerd(herd((day) => (day > 850 ? 0.3 : 0.1), 5));
    const result = await runAnalysis(engine, 'case-trends');
    expect(said(result)).toContain('passed its limit in');
    expect(said(result)).toContain('The whole record parts in two');
    const best = rowsWith(result, 'scan', { best: 'yes' })[0]!;
    // Day 850 after 1 March 2024 is 29 June 2026; a case is found up to six weeks after.
    expect(best.month).toBeGreaterThanOrEqual(dayFromIso('2026-06-01')!);
    expect(best.month).toBeLessThanOrEqual(dayFromIso('2026-09-01')!);
    expect(rowsWith(result, 'running_sum', { signal: 'passed its limit' }).length).toBeGreaterThan(0);
    await expectSound(engine, result);
  }, 30_000);

  it('are not given where nothing changes, and the rate of false alarms is stated', async () => {
    // About one seed in five gives a false alarm, as the sentence says; this one does not.
    const engine = await openHerd(herd(() => 0.12, 9));
    const result = await runAnalysis(engine, 'case-trends', { false_alarm: 48 });
    expect(said(result)).toContain('did not pass its limit');
    expect(said(result)).toContain('in about 22 of 100 records, about once in 48 months');
    expect(said(result)).toContain('No lasting change of level stands out');
    expect(estimateOf(result, 'months between false alarms, one month').estimate).toBeGreaterThan(300);
    await expectSound(engine, result);
  }, 30_000);

  it('name no number of months where no simulated record gives a false alarm', async () => {
    // One horse is left in the months watched: hardly a simulated record has two cases.
    const engine = await openHerd(
      Array.from({ length: 150 }, (_, i) =>
        Array.from({ length: i === 0 ? 16 : 13 }, (_, k) =>
          seen(`H${i}`, dayAfter(30 * k), i > 0 && i <= 12 && k === i ? 1 : 0),
        ),
      ).flat(),
    );
    const result = await runAnalysis(engine, 'case-trends', { watch: 3, false_alarm: 240 });
    expect(said(result)).toContain('would pass within 3 months in none of the 2,000 records simulated');
    expect(said(result)).not.toContain('∞');
    expect(estimateOf(result, 'months between false alarms, running sum').estimate).toBeNull();
  }, 30_000);
});

describe('case-trends on whole herds', () => {
  let demo: Engine;
  beforeAll(async () => {
    demo = await openHerdOf(await demoTables());
  }, 60_000);
  afterAll(() => demo.close());

  it('adds up: new cases by either dating, cases listed, and groups where the group is always known', async () => {
    const result = await runAnalysis(demo, 'case-trends', { by: 'foot_end' });
    await expectSound(demo, result);
    const months = tableOf(result, 'monthly').table;
    const sum = (name: string) => numbers(months, name).reduce((a, b) => a + b, 0);
    expect(sum('spread')).toBeCloseTo(sum('by_visit'), 6);
    const counted = numbers(
      await demo.query(
        `SELECT count(*) AS n FROM trim_cycle WHERE separation_end AND NOT separation_start AND days BETWEEN 1 AND 365`,
      ),
      'n',
    )[0]!;
    // Cycles join a foot’s neighbouring visits, graded or not: those over an ungraded visit are the difference.
    expect(sum('by_visit')).toBeGreaterThanOrEqual(counted);
    expect(sum('by_visit')).toBeLessThan(counted * 1.05);
    const rows = rowsOf(tableOf(result, 'estimates').table).map((row) =>
      Object.fromEntries(
        Object.entries(row).map(([name, cell]) => [name, cell === null ? '' : String(cell)]),
      ),
    );
    expect(unfoundIntervals(said(result).replace(/\u00a0/g, ' '), rows)).toEqual([]);
  }, 30_000);

  it('has sentences instead of signals for ten horses', async () => {
    const engine = await openHerdOf(await tenHorses());
    const result = await runAnalysis(engine, 'case-trends');
    expect(rowsOf(tableOf(result, 'chart').table)).toEqual([]);
    expect(result.unavailable.map(({ sentence }) => sentence).join(' ')).toContain(
      'control chart needs a year',
    );
    await expectSound(engine, result);
    await engine.close();
  }, 30_000);
});
