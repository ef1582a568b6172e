import { describe, expect, it } from 'vitest';
import { dayFromIso } from '../../src/core/civil-day.ts';
import {
  dayAfter,
  estimateOf,
  expectSound,
  openHerd,
  type Row,
  rowsWith,
  runAnalysis,
} from './run-analysis.ts';

/** One foot graded at visits 30 days apart; null is a visit at which it was not graded. */
function foot(horse_id: string, grades: readonly (number | null)[]): Row[] {
  return grades.map((separation_grade, i) => ({
    horse_id,
    foot: 'LF',
    visit_date: dayAfter(30 * i),
    separation_grade,
  }));
}

const on = (days: number): number => dayFromIso(dayAfter(days))!;

describe('spells', () => {
  it('bound each run by the visits on either side, and pass ungraded visits over', async () => {
    const engine = await openHerd(foot('A', [0, 1, null, 2, 0, 0]));
    const result = await runAnalysis(engine, 'spells');
    expect(rowsWith(result, 'runs', { state: 'present' })[0]).toMatchObject({
      foot: 'left fore',
      began_after: on(0),
      began_by: on(30),
      ended_after: on(90),
      ended_by: on(120),
      least_days: 60,
      most_days: 120,
      visits: 2,
    });
    const [first, second] = rowsWith(result, 'runs', { state: 'clear' });
    expect(first).toMatchObject({ began_after: null, ended_by: on(30), least_days: 0, most_days: null });
    expect(second).toMatchObject({ began_after: on(90), began_by: on(120), ended_by: null, least_days: 30 });
    await expectSound(engine, result);
  });

  it('leave the middle length as wide as the visits do', async () => {
    // Three spells of at least 30 and at most 90 days: half are over somewhere in between, and no visit says where.
    const engine = await openHerd(['A', 'B', 'C'].flatMap((horse) => foot(horse, [0, 1, 1, 0])));
    const result = await runAnalysis(engine, 'spells');
    expect(rowsWith(result, 'summary', { state: 'present' })[0]).toMatchObject({
      n_runs: 3,
      under_way: 0,
      ongoing: 0,
      bounded: 3,
      middle_from: 30,
      middle_to: 90,
      n_spells: 3,
    });
    expect(estimateOf(result, 'middle length of a present spell, as seen at visits')).toMatchObject({
      estimate: 60,
      conf_low: 30,
      conf_high: 90,
    });
    expect(result.findings[0]?.sentence).toContain('somewhere from 30 to 90\u00a0days (95\u00a0% 30 to 90)');
    await expectSound(engine, result);
  });

  it('give no middle length where most spells were not seen to end', async () => {
    const engine = await openHerd([
      ...foot('A', [0, 1, 0]),
      ...foot('B', [0, 1, 1, 1]),
      ...foot('C', [0, 1, 1, 1]),
    ]);
    const result = await runAnalysis(engine, 'spells');
    expect(rowsWith(result, 'summary', { state: 'present' })[0]).toMatchObject({
      ongoing: 2,
      estimate: null,
    });
    expect(result.unavailable.map(({ sentence }) => sentence).join(' ')).toContain(
      'fewer than half of the 3 spells of 3 horses were seen to end',
    );
    await expectSound(engine, result);
  });
});
