import { describe, expect, it } from 'vitest';
import type { AnalysisDraft } from '../../src/analyses/analysis.ts';
import {
  dayAfter,
  estimateOf,
  expectDraft,
  expectSound,
  openHerd,
  type Row,
  rowsWith,
  runAnalysis,
} from './run-analysis.ts';

/** Feet found affected long before (no routine cycle), then at two visits 73 days apart in the states given. */
function feet(
  states: readonly (readonly [number, number])[],
  horses: number,
  extra: Row = {},
  tag = 'H',
): Row[] {
  return states.flatMap(([start, end], i) =>
    ([-400, 0, 73] as const).map((day, k) => ({
      horse_id: `${tag}${i % horses}`,
      foot: ['LF', 'RF', 'LH', 'RH'][Math.floor(i / horses)]!,
      visit_date: dayAfter(day),
      separation_grade: [1, start, end][k]!,
      ...extra,
    })),
  );
}

const times = (n: number, state: readonly [number, number]) =>
  Array<readonly [number, number]>(n).fill(state);

describe('recurrence', () => {
  it('sets what visits saw beside what a steady rate with unseen returns says, both worked by hand', async () => {
    const engine = await openHerd(
      feet([...times(70, [0, 0]), ...times(30, [0, 1]), ...times(20, [1, 0]), ...times(30, [1, 1])], 50),
    );
    const result = await runAnalysis(engine, 'recurrence', { by: 'none', horizons: [73] });
    // 100 clear spells of a first clear visit at day 0 and 20 that cleared only at the last visit; 30 came back by day 73.
    const seen = estimateOf(result, 'return seen by 73 days');
    expect(seen.estimate).toBeCloseTo(0.3, 8);
    expect(seen).toMatchObject({ n_spells: 120, problem: 'separation' });
    // Rates from .3 and .4 over one spacing: onset .51598835 a spacing, so 1 − exp(−.51598835) by day 73.
    const steady = estimateOf(result, 'return by 73 days, unseen returns counted (two-state model)');
    expect(steady.estimate).toBeCloseTo(1 - Math.exp(-0.51598835), 6);
    expect(steady.n_cycles).toBe(150);
    expect(result.findings[0]?.sentence).toContain('30.0\u00a0% by 73\u00a0days');
    expect(result.findings[1]?.sentence).toContain('40.3\u00a0% by 73\u00a0days');
    await expectSound(engine, result);
  });

  it('hands its curves over before their bands, where many spells make these take long', async () => {
    const drafts: AnalysisDraft[] = [];
    const options = { by: 'none', horizons: [73], replicates: 50 };
    const context = { draft: (draft: AnalysisDraft) => drafts.push(draft) };
    const states = [...times(800, [0, 0]), ...times(300, [0, 1]), ...times(100, [1, 1])];
    const engine = await openHerd(feet(states, 300));
    const result = await runAnalysis(engine, 'recurrence', options, context);
    expect(drafts).toHaveLength(1);
    expectDraft(drafts[0]!, result);
    await openHerd(feet([...times(8, [0, 0]), ...times(3, [0, 1])], 5));
    await runAnalysis(engine, 'recurrence', options, context);
    expect(drafts).toHaveLength(1);
  });

  it('gives the ratio of two levels with one look each as the ratio of their hazards', async () => {
    // Returns at two spacings are needed for the shape: a second look 73 days on for half the feet of both levels.
    const later = (rows: Row[]): Row[] => [
      ...rows,
      ...rows
        .filter((row) => row.visit_date === dayAfter(73) && row.separation_grade === 0)
        .map((row, i) => ({ ...row, visit_date: dayAfter(146), separation_grade: i % 3 === 0 ? 1 : 0 })),
    ];
    const engine = await openHerd([
      ...later(feet([...times(40, [0, 0]), ...times(20, [0, 1])], 20, { terrain: 'soft' }, 'S')),
      ...later(feet([...times(45, [0, 0]), ...times(5, [0, 1])], 17, { terrain: 'firm' }, 'F')),
      ...feet(times(12, [0, 0]), 6, { terrain: 'rocky' }, 'R'),
    ]);
    const result = await runAnalysis(engine, 'recurrence', { by: 'terrain', horizons: [73], replicates: 50 });
    const ratio = estimateOf(result, 'rate of return ratio', 'ground: firm against soft');
    expect(ratio.estimate).toBeGreaterThan(0.2);
    expect(ratio.estimate).toBeLessThan(1);
    expect(ratio.n_spells).toBe(110);
    // Rocky showed no return: a limit, and a sentence that does not call it free of risk.
    const limit = estimateOf(result, 'rate of return ratio, one-sided limit', 'ground: rocky against soft');
    expect(limit.estimate).toBeNull();
    expect(limit.conf_high).toBeLessThan(1.5);
    expect(rowsWith(result, 'ratios', { level: 'rocky' })[0]).toMatchObject({ limit: 'one-sided limit' });
    expect(result.unavailable.map(({ sentence }) => sentence).join(' ')).toContain(
      'That is not the same as no risk.',
    );
    await expectSound(engine, result);
  });

  it('speaks of loose bounds only where the visits leave three points or more', async () => {
    // Clear feet are last seen at day 73; by day 90 the visits leave anything from what had come back to all.
    const engine = await openHerd(feet([...times(30, [0, 0]), ...times(30, [0, 1])], 20));
    const result = await runAnalysis(engine, 'recurrence', { by: 'none', horizons: [73, 90] });
    const { sentence } = result.findings[0]!;
    expect(sentence).toContain('50.0\u00a0% by 73\u00a0days');
    expect(sentence).toContain('anywhere from 50.0 to 100.0\u00a0%');
    expect(sentence.match(/anywhere/g)).toHaveLength(1);
  });
});
