import { describe, expect, it } from 'vitest';
import {
  dayAfter,
  estimateOf,
  expectSound,
  openHerd,
  type Row,
  rowsWith,
  runAnalysis,
  trimmedFeet,
} from './run-analysis.ts';

describe('growth', () => {
  it('is the least-squares rate for one foot, with Student’s interval on so few cycles', async () => {
    const engine = await openHerd(trimmedFeet({ 'A LF': [8, 9, 10] }, { breed_type: 'pony' }));
    const result = await runAnalysis(engine, 'growth');
    // Σzy/Σz² = 27/3; residual variance (1 + 0 + 1)/2; error √(1/3); t(2) = 4.302653.
    const row = estimateOf(result, 'toe growth');
    expect(row.estimate).toBeCloseTo(9, 8);
    expect(row.conf_low).toBeCloseTo(9 - 4.302653 * Math.sqrt(1 / 3), 5);
    expect(row.n_cycles).toBe(3);
    expect(result.findings[0]?.sentence).toBe(
      'Net toe growth averaged 9.00\u00a0mm per 30\u00a0days (95\u00a0% 6.52 to 11.48), from 1 horse, 1 foot, 3 trim cycles.',
    );
    expect(result.unavailable.map(({ sentence }) => sentence)).toContain(
      'Too little repeats in these records to tell left from right within a horse.',
    );
    await expectSound(engine, result);
  });

  it('allows for no season where half of the year was not seen: its mean would be made up', async () => {
    const engine = await openHerd(
      trimmedFeet({
        'A LF': [8, 9, 10, 9, 8, 9],
        'B LF': [7, 8, 9, 8, 9, 7],
        'C RF': [9, 10, 9, 8, 10, 8],
      }),
    );
    const result = await runAnalysis(engine, 'growth');
    const row = estimateOf(result, 'toe growth');
    // All cycles are 30 days: the mean of 18 regrowths, 155/18.
    expect(row.estimate).toBeCloseTo(155 / 18, 6);
    expect(Number(row.conf_high) - Number(row.conf_low)).toBeLessThan(4);
    expect(rowsWith(result, 'estimates', { term: 'seasonal amplitude' })).toEqual([]);
    expect(result.unavailable.map(({ sentence }) => sentence)).toContain(
      'These records do not cover enough of the year to tell season apart, so no season is allowed for: rates are of the months seen.',
    );
    await expectSound(engine, result);
  });

  it('tells of all horses together where there are as many groups as records', async () => {
    const engine = await openHerd([
      ...trimmedFeet({ 'A LF': [8] }, { breed_type: 'pony' }),
      ...trimmedFeet({ 'B LF': [9] }, { breed_type: 'draft' }),
      ...trimmedFeet({ 'C LF': [10] }, { breed_type: 'donkey' }),
    ]);
    const result = await runAnalysis(engine, 'growth', { by: 'breed_type' });
    expect(estimateOf(result, 'toe growth').estimate).toBeCloseTo(9, 8);
    expect(rowsWith(result, 'per_horse', {}).map(({ horse_id, own_rate }) => [horse_id, own_rate])).toEqual([
      ['A', 8],
      ['B', 9],
      ['C', 10],
    ]);
    expect(result.unavailable.map(({ sentence }) => sentence)).toContainEqual(
      expect.stringMatching(/^there are 3 usable records for 3 quantities/i),
    );
    await expectSound(engine, result);
  });

  it('sets left against right, drawn towards none by as much as the feet of a horse are alike', async () => {
    const engine = await openHerd(
      trimmedFeet({
        'A LF': [10, 10.4],
        'A RF': [8, 8.4],
        'B LF': [7, 7.4],
        'B RF': [8, 7.6],
        'C LF': [9, 8.6],
        'C RF': [9.4, 9.8],
      }),
    );
    const result = await runAnalysis(engine, 'growth', { by: 'none' });
    // Balanced: mean squares .08 within feet, 5/3 between feet of a horse; shrinkage 1 − .08/(5/3) = .952.
    const of = (horse_id: string) => rowsWith(result, 'asymmetry', { horse_id })[0]!;
    expect(of('A').estimate).toBeCloseTo(0.952 * 2, 4);
    expect(of('B').estimate).toBeCloseTo(0.952 * -0.6, 4);
    expect(of('C').estimate).toBeCloseTo(0.952 * -0.8, 4);
    expect([of('A').rank, of('B').rank, of('C').rank]).toEqual([1, 3, 2]);
    expect(of('A')).toMatchObject({ pair: 'fore', n_feet: 2, n_cycles: 4 });
    // Variance of one change 0.08, of feet (5/3 − .08)/2.
    expect(estimateOf(result, 'spread of one change around its rate (SD)').estimate).toBeCloseTo(
      Math.sqrt(0.08),
      4,
    );
    const betweenFeet = estimateOf(result, 'spread between feet of a horse (SD)');
    expect(betweenFeet.estimate).toBeCloseTo(Math.sqrt((5 / 3 - 0.08) / 2), 4);
    expect(betweenFeet.conf_low).toBeLessThan(betweenFeet.estimate as number);
    expect(betweenFeet.conf_high).toBeGreaterThan(betweenFeet.estimate as number);
    expect(result.findings.at(-1)?.sentence).toContain(
      'Furthest apart is the fore pair of A: left less right is an estimated 1.90\u00a0mm per 30\u00a0days',
    );
    await expectSound(engine, result);
  });

  it('turns every difference round when left and right change places', async () => {
    const given = { 'A LF': [10, 10.4], 'A RF': [8, 8.4], 'B LF': [7, 7.4], 'B RF': [8, 7.6] };
    const swapped = Object.fromEntries(
      Object.entries(given).map(([key, mm]) => [key.replace(/[LR]F/, (f) => (f === 'LF' ? 'RF' : 'LF')), mm]),
    );
    const estimates = [];
    for (const herd of [given, swapped]) {
      const engine = await openHerd(trimmedFeet(herd));
      const result = await runAnalysis(engine, 'growth', { by: 'none' });
      estimates.push(rowsWith(result, 'asymmetry', { horse_id: 'A' })[0]!.estimate as number);
    }
    expect(estimates[1]).toBeCloseTo(-estimates[0]!, 8);
  });

  it('takes foot levels into a pair’s difference only as far as the feet differ in them', async () => {
    const herd = trimmedFeet({
      'A LF': [10, 10.4],
      'A RF': [8, 8.4],
      'B LF': [9, 9.4],
      'B RF': [8, 7.6],
      'C LF': [9, 8.6],
      'C RF': [9.4, 9.8],
    });
    const engine = await openHerd(herd);
    const result = await runAnalysis(engine, 'growth', { by: 'foot' });
    const mean = (level: string) => estimateOf(result, 'toe growth', level).estimate as number;
    const differences = rowsWith(result, 'asymmetry', {}).map((row) => row.estimate as number);
    // Drawn towards the herd's own left less right, 9.5 − 8.5333, so their mean is that.
    const average = differences.reduce((sum, d) => sum + d, 0) / differences.length;
    expect(average).toBeCloseTo(mean('foot: left fore') - mean('foot: right fore'), 6);
    await expectSound(engine, result);
  });

  it('says so where neighbouring regrowths share a measuring error', async () => {
    // The reading after a trim set too high makes one regrowth too small and the next one too large.
    const herd: Record<string, number[]> = {};
    for (let horse = 0; horse < 6; horse += 1) {
      const shifts = Array.from({ length: 13 }, (_, i) => 2 * Math.sin(1 + 7 * i * (horse + 1.3)));
      herd[`H${horse} LF`] = Array.from({ length: 12 }, (_, i) => 8 + shifts[i + 1]! - shifts[i]!);
    }
    const engine = await openHerd(trimmedFeet(herd));
    const result = await runAnalysis(engine, 'growth', { by: 'none' });
    const lag = estimateOf(result, 'correlation of neighbouring changes beyond their rates');
    expect(lag.conf_high).toBeLessThan(-0.1);
    expect(result.findings.map(({ sentence }) => sentence).join(' ')).toContain(
      'seem to share a measuring error',
    );
    await expectSound(engine, result);
  });
});

describe('drift', () => {
  it('says that the angle rose, fell, or may have done either', async () => {
    const herd = (drifts: readonly number[]): Row[] =>
      [null, ...drifts].map((drift, i) => ({
        horse_id: 'A',
        foot: 'LF',
        visit_date: dayAfter(30 * i),
        angle_before_deg: drift === null ? 50 : 50 + drift,
        angle_after_deg: 50,
        protection: 'bare',
      }));
    const said = async (drifts: readonly number[]): Promise<string> => {
      const engine = await openHerd(herd(drifts));
      const result = await runAnalysis(engine, 'drift');
      await expectSound(engine, result);
      return result.findings[0]!.sentence;
    };
    // Mean 0.4, error √(.01/3) = .057735, t(2) = 4.302653.
    expect(await said([0.3, 0.5, 0.4])).toBe(
      'Between trims the toe angle rose by 0.40° per 30\u00a0days on average (95\u00a0% 0.15 to 0.65), from 1 horse, 1 foot, 3 trim cycles.',
    );
    expect(await said([-0.3, -0.5, -0.4])).toContain(
      'fell by 0.40° per 30\u00a0days on average (95\u00a0% 0.15 to 0.65)',
    );
    expect(await said([-0.4, 0.5, 0.2])).toContain('so that it may have risen or fallen');
  });
});
