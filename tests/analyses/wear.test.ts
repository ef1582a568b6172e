import { describe, expect, it } from 'vitest';
import {
  dayAfter,
  estimateOf,
  expectSound,
  openHerd,
  type Row,
  rowsWith,
  runAnalysis,
} from './run-analysis.ts';

/** A foot trimmed to 80 mm, then seen again: the mark moves by `gross`, the toe regrows by `net`. */
function foot(
  horse_id: string,
  days: number,
  gross: number,
  net: number,
  extra: Row = {},
  marks = ['m', 'm'],
): Row[] {
  return [0, days].map((day, k) => ({
    horse_id,
    foot: 'LF',
    visit_date: dayAfter(day),
    toe_before_mm: k === 0 ? 90 : 80 + net,
    toe_after_mm: 80,
    marker_mm: k === 0 ? 2 : 2 + gross,
    marker_id: marks[k]!,
    ...extra,
  }));
}

describe('wear', () => {
  it('is gross less net growth over the same spans, worked by hand', async () => {
    const engine = await openHerd([
      ...foot('A', 30, 8, 6, { terrain: 'soft' }),
      ...foot('B', 60, 18, 13, { terrain: 'soft' }),
      // Another mark at the second visit: no gross growth to be had.
      ...foot('C', 30, 5, 6, { terrain: 'soft' }, ['m', 'other']),
      ...foot('D', 30, 9, 5, { terrain: 'rocky' }),
    ]);
    const result = await runAnalysis(engine, 'wear');
    const soft = 'ground: soft';
    // Three months of days: gross 26/3, net 19/3, wear 7/3; horses lie 1/3 off either side, error √(2 · 2/9)/3 = 2/9.
    expect(estimateOf(result, 'gross growth', soft).estimate).toBeCloseTo(26 / 3, 10);
    expect(estimateOf(result, 'net growth', soft).estimate).toBeCloseTo(19 / 3, 10);
    const wear = estimateOf(result, 'wear', soft);
    expect(wear.estimate).toBeCloseTo(7 / 3, 10);
    expect(wear.std_error).toBeCloseTo(2 / 9, 10);
    expect(wear.conf_high).toBeCloseTo(7 / 3 + (12.706205 * 2) / 9, 5);
    expect(estimateOf(result, 'wear as a share of gross growth', soft).estimate).toBeCloseTo(7 / 26, 10);
    expect(wear).toMatchObject({ n_horses: 2, n_feet: 2, n_cycles: 2 });
    expect(estimateOf(result, 'wear')).toMatchObject({ n_horses: 3, n_cycles: 3 });
    // One horse on rocky ground shows nothing of how horses differ.
    expect(rowsWith(result, 'levels', { level: 'rocky' })).toEqual([]);
    expect(result.unavailable.map(({ sentence }) => sentence).join(' ')).toContain(
      'ground rocky: too few marks (1 horse',
    );
    await expectSound(engine, result);
  });

  it('points out marks that did what no mark can, and counts them all the same', async () => {
    const engine = await openHerd([
      // Each over 30 days. Fit to be true: 8 down, 6 regrown.
      ...foot('A', 30, 8, 6),
      // Up by 9: beyond the 5 that two readings may differ.
      ...foot('B', 30, -9, 6),
      // Down 4 less than the toe grew, which errors of reading may do; and 8 less, which they may not.
      ...foot('C', 30, 2, 6),
      ...foot('D', 30, -1, 7),
      // Down 25 in 30 days: a foal's 15 and the 5 of reading make 20.
      ...foot('E', 30, 25, 6),
    ]);
    const result = await runAnalysis(engine, 'wear', { by: 'none' });
    expect(rowsWith(result, 'odd_marks', {}).map(({ what, n_cycles }) => [what, n_cycles])).toEqual([
      ['moved up', 1],
      ['moved down less than the toe grew', 1],
      ['moved down faster than a wall grows', 1],
    ]);
    expect(estimateOf(result, 'gross growth')).toMatchObject({ estimate: 5, n_cycles: 5 });
    // Gross 25, net 31 in five months: wear −6/5.
    expect(estimateOf(result, 'wear').estimate).toBeCloseTo(-1.2, 10);
    const said = result.findings.map(({ sentence }) => sentence);
    expect(said[0]).toContain('wear would be −1.20\u00a0mm per 30\u00a0days');
    expect(said[0]).toContain('which cannot be; the interval holds 0');
    expect(said[1]).toBe(
      'In 1 of 5 trim cycles with a mark (1 horse) the mark moved up, by more than two readings may differ (5\u00a0mm), which cannot be: look at the mark. It is counted as it stands.',
    );
    await expectSound(engine, result);
  });

  it('compares no group of fewer than four horses', async () => {
    const herd = (ground: string, ids: readonly string[], wear: number): Row[] =>
      ids.flatMap((id, k) => foot(id, 30, 8 + k / 10, 8 + k / 10 - wear - k / 20, { terrain: ground }));
    const engine = await openHerd([
      ...herd('soft', ['A', 'B', 'C', 'D'], 0.5),
      ...herd('firm', ['E', 'F', 'G', 'H'], 1.5),
      ...herd('rocky', ['I', 'J', 'K'], 3),
    ]);
    const result = await runAnalysis(engine, 'wear');
    const said = result.findings.map(({ sentence }) => sentence).join(' ');
    expect(said).toContain('runs from soft');
    expect(said).toMatch(/to firm [\d.]+ \(/);
    expect(said).toContain('Too few horses to compare, by ground: rocky (3 horses).');
    expect(estimateOf(result, 'wear', 'ground: rocky').n_horses).toBe(3);
    await expectSound(engine, result);
  });

  it('says which groups are not recorded at all, and answers without them', async () => {
    const engine = await openHerd([...foot('A', 30, 8, 6), ...foot('B', 30, 9, 6)]);
    const result = await runAnalysis(engine, 'wear');
    expect(estimateOf(result, 'wear').n_cycles).toBe(2);
    expect(result.unavailable.map(({ sentence }) => sentence).join(' ')).toContain('Ground is not recorded');
    await expectSound(engine, result);
  });

  it('says that there are no marks where there are none', async () => {
    const engine = await openHerd(foot('A', 30, 8, 6).map(({ marker_mm, marker_id, ...row }) => row));
    const result = await runAnalysis(engine, 'wear');
    expect(result.findings).toEqual([]);
    expect(result.unavailable[0]).toMatchObject({ unavailable: 'no-rows' });
    expect(result.unavailable[0]?.sentence).toContain(
      'no mark was read at two visits running on the same foot',
    );
    await expectSound(engine, result);
  });
});
