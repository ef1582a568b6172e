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
