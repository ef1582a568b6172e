import { describe, expect, it } from 'vitest';
import { estimateOf, expectSound, openHerd, type Row, rowsWith, runAnalysis } from './run-analysis.ts';

function visit(horse_id: string, visit_date: string, separation_grade: number, extra: Row = {}): Row {
  return { horse_id, foot: 'LF', visit_date, separation_grade, ...extra };
}

describe('prevalence', () => {
  it('compares this season with the same one a year earlier, each horse with itself', async () => {
    const before = [1, 0, 0, 0];
    const now = [1, 1, 1, 0];
    const engine = await openHerd([
      ...before.map((grade, i) => visit(`H${i}`, '2024-04-10', grade)),
      ...now.map((grade, i) => visit(`H${i}`, '2025-04-12', grade)),
    ]);
    const result = await runAnalysis(engine, 'prevalence', {
      problems: ['separation'],
      by: 'quarter',
      at: 'every',
    });
    // Each horse moves the difference by ±1/8: variance 4/3 · 4/64 = 1/12; t(3) = 3.182446.
    const difference = estimateOf(result, 'difference of shares', '2025 spring against 2024 spring');
    expect(difference.estimate).toBeCloseTo(0.5, 12);
    expect(difference.std_error).toBeCloseTo(Math.sqrt(1 / 12), 12);
    expect(difference.conf_low).toBeCloseTo(0.5 - 3.182446 * Math.sqrt(1 / 12), 6);
    expect(difference).toMatchObject({ n_horses: 4, n_feet: 4, n_cycles: 8 });
    expect(result.findings[0]?.sentence).toContain(
      'the same season a year earlier: 50.0 points more (95\u00a0% −41.9 to 100.0), which may be chance',
    );
    await expectSound(engine, result);
  });

  it('compares levels with the commonest and opens the rows of both', async () => {
    const engine = await openHerd(
      Array.from({ length: 12 }, (_, i) =>
        visit(`H${i}`, '2025-04-10', i % 3 === 0 ? 1 : 0, { terrain: i < 7 ? 'soft' : 'firm' }),
      ),
    );
    const result = await runAnalysis(engine, 'prevalence', { problems: ['separation'], by: 'terrain' });
    // Soft: horses 0, 3, 6 of 7; firm: 9 of 5.
    const row = rowsWith(result, 'contrasts', { level: 'firm' })[0]!;
    expect(row.against).toBe('soft');
    expect(row.estimate).toBeCloseTo(1 / 5 - 3 / 7, 12);
    expect(row.ratio).toBeCloseTo(1 / 5 / (3 / 7), 12);
    expect(row.n_cycles).toBe(12);
    expect(result.findings[0]?.sentence).toContain('Furthest from soft is firm: 22.9 points less');
    await expectSound(engine, result);
  });

  it('says where no season is on record twice', async () => {
    const engine = await openHerd([visit('A', '2024-04-10', 1), visit('B', '2024-04-10', 0)]);
    const result = await runAnalysis(engine, 'prevalence', {
      problems: ['separation'],
      by: 'quarter',
      at: 'every',
    });
    expect(result.findings).toEqual([]);
    expect(result.unavailable.map(({ sentence }) => sentence)).toEqual([
      'No season is on record twice, so this year cannot be set against the last.',
    ]);
    await expectSound(engine, result);
  });

  it('gives the herd its share where the files lack the grouping, and rests on all levels where they have it', async () => {
    const visits = (terrain: (i: number) => string | null) =>
      Array.from({ length: 12 }, (_, i) =>
        visit(`H${i % 8}`, i < 8 ? '2025-04-10' : '2025-06-10', i % 3 === 0 ? 1 : 0, { terrain: terrain(i) }),
      );
    const asked = { problems: ['separation'], by: 'terrain', at: 'every' };
    const without = await runAnalysis(await openHerd(visits(() => null)), 'prevalence', asked);
    expect(estimateOf(without, 'share of feet affected').estimate).toBeCloseTo(4 / 12, 12);
    expect(without.unavailable.map(({ sentence }) => sentence)).toEqual([
      'Ground is not recorded in these rows, so it is not taken into account.',
    ]);
    // Rows 0 to 6 soft, 7 to 9 firm, the last two unknown: 8 horses, of which H0 and H1 are in both.
    const engine = await openHerd(visits((i) => (i < 7 ? 'soft' : i < 10 ? 'firm' : null)));
    const result = await runAnalysis(engine, 'prevalence', asked);
    expect(result.counts).toEqual({ horses: 8, feet: 8, cycles: 10 });
    expect(result.findings.map(({ sentence }) => sentence)).toContain(
      '2 foot visits of 2 horses without ground could not take part in this comparison.',
    );
    await expectSound(engine, result);
  });

  it('never says that a problem was not graded where only its ground was not', async () => {
    const engine = await openHerd([
      ...Array.from({ length: 5 }, (_, i) => visit(`H${i}`, '2025-04-10', i % 2, { terrain: 'soft' })),
      ...Array.from({ length: 5 }, (_, i) => ({
        ...{ horse_id: `W${i}`, foot: 'LF', visit_date: '2025-04-10' },
        fungal_wall_grade: i % 2,
      })),
    ]);
    const asked = { problems: ['separation', 'wall_infection'], at: 'every' };
    const split = await runAnalysis(engine, 'prevalence', { ...asked, by: 'terrain' });
    expect(split.unavailable.map(({ sentence }) => sentence)).toContain(
      'Wall infection was not graded at any visit where ground is recorded.',
    );
    await expectSound(engine, split);
    const whole = await runAnalysis(engine, 'prevalence', { ...asked, by: 'none' });
    expect(whole.findings[0]?.sentence).toMatch(/From 5 horses, 5 feet\.$/);
  });

  it('says up to how many horses where problems were graded in different ones', async () => {
    const engine = await openHerd(
      Array.from({ length: 9 }, (_, i) =>
        visit(`H${i}`, '2025-04-10', 0, { fungal_wall_grade: i < 5 ? 1 : null }),
      ),
    );
    const result = await runAnalysis(engine, 'prevalence', {
      problems: ['separation', 'wall_infection'],
      by: 'none',
      at: 'every',
    });
    expect(result.findings[0]?.sentence).toMatch(/From up to 9 horses, 9 feet\.$/);
    await expectSound(engine, result);
  });
});
