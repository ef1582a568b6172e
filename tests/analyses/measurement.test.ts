import { describe, expect, it } from 'vitest';
import { numbers, rowsOf } from '../../src/core/table.ts';
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

const visit = (
  horse_id: string,
  day: number,
  before: number,
  after: number | null,
  extra: Row = {},
): Row => ({
  horse_id,
  foot: 'LF',
  visit_date: dayAfter(day),
  practitioner_id: 'Ashe',
  toe_before_mm: before,
  toe_after_mm: after,
  ...extra,
});

/** So many cycles of 40 days, each 10 mm but for `errors`, repeated. */
function steady(horse_id: string, cycles: number, errors: readonly number[], extra: Row = {}): Row[] {
  return Array.from({ length: cycles + 1 }, (_, k) =>
    visit(horse_id, 40 * k, 90 + (k === 0 ? 0 : errors[(k - 1) % errors.length]!), 80, extra),
  );
}

describe('measurement', () => {
  it('takes readings a day apart with no trim between for repeats, worked by hand', async () => {
    const engine = await openHerd([
      // Looked at, and again the next day: 81 and 80, 90 and 92, 85 and 85; nothing was cut between.
      ...[
        ['A', 81, 80],
        ['B', 90, 92],
        ['C', 85, 85],
      ].flatMap(([id, first, second]) => [
        visit(String(id), 0, Number(first), null),
        visit(String(id), 1, Number(second), 78),
      ]),
      // Trimmed on the first day: what was read after it is set against what is read two days later.
      visit('D', 0, 88, 80),
      visit('D', 2, 81, 79),
      // Four days apart: not asked for.
      visit('E', 0, 88, null),
      visit('E', 4, 60, 58),
    ]);
    const result = await runAnalysis(engine, 'measurement');
    // Differences −1, 2, 0, 1: within pairs ½, 2, 0, ½ on 4 degrees of freedom: SD √(3/4).
    const sd = estimateOf(result, 'error of one reading (SD), toe length read again');
    expect(sd.estimate).toBeCloseTo(Math.sqrt(0.75), 10);
    // χ² quantiles on 4 degrees of freedom: 11.1433 and 0.4844 (from memory of any table).
    expect(sd.conf_low).toBeCloseTo(Math.sqrt(3 / 11.1433), 4);
    expect(sd.conf_high).toBeCloseTo(Math.sqrt(3 / 0.484419), 4);
    // Mean ½, SD of the differences √(5/3): limits ½ ∓ 1.96·1.2910.
    expect(estimateOf(result, 'mean difference, toe length read again').estimate).toBeCloseTo(0.5, 10);
    const upper = estimateOf(result, 'upper limit of agreement, toe length read again').estimate;
    expect(upper).toBeCloseTo(0.5 + 1.959964 * Math.sqrt(5 / 3), 5);
    expect(sd).toMatchObject({ n_horses: 4, n_feet: 4, n_cycles: 4 });
    await expectSound(engine, result);
    const wider = await runAnalysis(engine, 'measurement', { within_days: 4 });
    expect(estimateOf(wider, 'mean difference, toe length read again').n_cycles).toBe(5);
  });

  it('lists a slip of the pen, and a mark that moved up, and opens the one cycle', async () => {
    const rows = ['A', 'B', 'C', 'D', 'E', 'F'].flatMap((id, k) =>
      steady(
        id,
        12,
        [0.5, -0.5, 0, 1, -1].map((e) => e * (1 + k / 10)),
      ),
    );
    const slip = rows.find(({ horse_id, visit_date }) => horse_id === 'C' && visit_date === dayAfter(160))!;
    // 98 for 89: two figures turned about.
    slip.toe_before_mm = 98;
    const marks = [
      { marker_mm: 12, marker_id: 'a' },
      { marker_mm: 9, marker_id: 'a' },
    ];
    rows.push(...marks.map((mark, k) => visit('G', 40 * k, 90, 80, mark)));
    const engine = await openHerd(rows);
    const result = await runAnalysis(engine, 'measurement');
    const jumps = rowsOf(tableOf(result, 'jumps').table);
    expect(jumps[0]).toMatchObject({ horse_id: 'C', foot: 'LF', moved: 18 });
    const opened = await engine.query(`SELECT toe_regrowth_mm FROM trim_cycle WHERE ${jumps[0]!.behind}`);
    expect(Array.from(numbers(opened, 'toe_regrowth_mm'))).toEqual([18]);
    expect(rowsWith(result, 'marks_up', {})).toMatchObject([{ horse_id: 'G', moved: -3 }]);
    expect(result.findings.some(({ sentence }) => sentence.startsWith('1 mark seems to have moved up'))).toBe(
      true,
    );
    await expectSound(engine, result);
    // Beyond the furthest there is nothing.
    const calm = await runAnalysis(await openHerd(steady('A', 12, [0.5, -0.5, 0])), 'measurement');
    expect(rowsWith(calm, 'jumps', {})).toEqual([]);
  });

  it('counts a toe that came back shorter only where that is out of line', async () => {
    const rows = ['A', 'B', 'C', 'D', 'E', 'F'].flatMap((id) => steady(id, 12, [1.5, -1.5, 0, 3, -3]));
    // 6 mm and 40 mm shorter some days after the trim: both flagged.
    const short = [
      ['Near', 74],
      ['Far', 40],
    ] as const;
    rows.push(...short.flatMap(([id, before]) => [visit(id, 0, 90, 80), visit(id, 8, before, 70)]));
    const engine = await openHerd(rows);
    const result = await runAnalysis(engine, 'measurement');
    expect(rowsWith(result, 'jumps', {}).map(({ horse_id }) => horse_id)).toEqual(['Far']);
    const said = result.findings.map(({ sentence }) => sentence.replaceAll('\u00a0', ' ')).join(' ');
    expect(said).toContain('1 change of toe length lies further than');
    // Six horses of 12 cycles, and the two flagged.
    expect(said).toContain('among 74 trim cycles');
    await expectSound(engine, result);
  });

  it('says that readings which agree exactly have no spread', async () => {
    const engine = await openHerd(
      ['P', 'Q', 'R'].flatMap((id) => [visit(id, 0, 85, null), visit(id, 1, 85, 80)]),
    );
    const result = await runAnalysis(engine, 'measurement');
    expect(rowsWith(result, 'estimates', { term: 'mean difference, toe length read again' })).toEqual([]);
    expect(result.unavailable.map(({ sentence }) => sentence)).toContain(
      'Toe length read again: the two readings differ by as much in every pair, so there is no spread.',
    );
    await expectSound(engine, result);
  });

  it('sees in which step each practitioner writes, and who is drawn to round marks', async () => {
    const lengths = (k: number, step: number): number => 70 + step * ((k * 7) % Math.round(30 / step));
    const by = (practitioner_id: string, value: (k: number) => number): Row[] =>
      ['A', 'B', 'C', 'D', 'E'].flatMap((horse, h) =>
        Array.from({ length: practitioner_id === 'Even' ? 30 : 26 + 2 * h }, (_, k) =>
          visit(`${practitioner_id} ${horse}`, 40 * k, value(k + 11 * h), null, { practitioner_id }),
        ),
      );
    const engine = await openHerd([
      ...by('Even', (k) => lengths(k, 1)),
      // Every second reading goes to the next 5 mm: a share of ½ + ½·0.2 where 0.2 is chance.
      ...by('Round', (k) => (k % 2 ? lengths(k, 1) : Math.round(lengths(k, 1) / 5) * 5)),
      ...by('Inch', (k) => 25.4 * (2.75 + ((k * 5) % 16) / 16)),
    ]);
    const result = await runAnalysis(engine, 'measurement');
    const stepOf = (level: string) => rowsWith(result, 'steps', { measure: 'Toe length', level })[0]?.step;
    expect([stepOf('Even'), stepOf('Round'), stepOf('Inch')]).toEqual(['1 mm', '1 mm', '1/16 in']);
    const even = estimateOf(result, 'readings on whole 5 mm, toe length', 'practitioner: Even');
    expect(even.estimate).toBeCloseTo(0.2, 10);
    // Every horse has the same share: each counts for one reading, 1 of 5. Wilson, Newcombe 1998, by hand.
    expect(even.conf_low).toBeCloseTo(
      (0.2 + 3.841459 / 10 - 1.959964 * Math.sqrt(0.16 / 5 + 3.841459 / 100)) / (1 + 3.841459 / 5),
      5,
    );
    const round = rowsWith(result, 'round_ends', { level: 'Round' })[0]!;
    expect(round.estimate).toBeGreaterThan(0.55);
    expect(round).toMatchObject({ mark: 'whole 5 mm', expected: 0.2, n_readings: 150, n_horses: 5 });
    expect(Number(round.index)).toBeCloseTo((100 * Number(round.estimate)) / 0.2, 8);
    const said = result.findings.map(({ sentence }) => sentence.replaceAll('\u00a0', ' ')).join(' ');
    expect(said).toContain('by Round are written to 1 mm');
    expect(said).not.toContain('by Even are written');
    await expectSound(engine, result);
  });

  it('finds in the demo herd the errors that were put in', async () => {
    const engine = await openHerdOf(await demoTables());
    const result = await runAnalysis(engine, 'measurement');
    await expectSound(engine, result);
    // A reading error of 0.8 mm, then rounding to 0.5 mm, which adds 0.5²/12.
    const put = Math.sqrt(0.8 ** 2 + 0.5 ** 2 / 12);
    for (const measure of ['toe length', 'heel length']) {
      const { conf_low, conf_high } = estimateOf(result, `error of one reading (SD), ${measure}`);
      expect(Number(conf_low)).toBeLessThan(put);
      expect(Number(conf_high)).toBeGreaterThan(put);
    }
    // The angle's 0.7° is joined by 0.3° that it moves by itself in each cycle, half of which falls to each end.
    const angle = estimateOf(result, 'error of one reading (SD), toe angle');
    const angleTrue = Math.sqrt(0.7 ** 2 + 0.5 ** 2 / 12 + 0.3 ** 2 / 2);
    expect(Math.abs(Number(angle.estimate) - angleTrue)).toBeLessThan(0.02);
    // No practitioner measures otherwise than another, and nobody is drawn to round marks.
    const toe = rowsWith(result, 'errors', { measure: 'Toe length' });
    expect(toe).toHaveLength(4);
    const ends = estimateOf(result, 'readings on whole 5 mm, toe length');
    expect(Number(ends.conf_low)).toBeLessThan(0.1);
    expect(Number(ends.conf_high)).toBeGreaterThan(0.1);
    expect(rowsWith(result, 'steps', { level: 'Ashe', step: '0.5 mm' }).length).toBe(5);
    // Two readings narrow, and more so where there are few visits.
    const reach = rowsOf(tableOf(result, 'twice').table);
    const ratios = [1, 4, 16].map((cycles) => {
      const own = reach.filter((row) => row.cycles === cycles);
      return Number(own[1]!.reach) / Number(own[0]!.reach);
    });
    expect(ratios).toEqual([...ratios].sort((a, b) => a - b));
    expect(ratios[0]!).toBeGreaterThan(Math.SQRT1_2);
    expect(ratios[2]!).toBeLessThan(1);
    await engine.close();
  });

  it('answers for ten horses, for one, and for none', async () => {
    const engine = await openHerdOf(await tenHorses());
    const few = await runAnalysis(engine, 'measurement');
    await expectSound(engine, few);
    expect(few.unavailable.map(({ sentence }) => sentence).join(' ')).toContain(
      'Too few trim cycles have both ends read by Linden',
    );
    await engine.close();
    const one = await openHerd(steady('A', 6, [0.5, -0.5, 0]));
    const alone = await runAnalysis(one, 'measurement');
    await expectSound(one, alone);
    // Horses cannot be told apart from one: no word of a second reading, and an interval from chi-square.
    expect(rowsWith(alone, 'twice', {})).toEqual([]);
    expect(estimateOf(alone, 'error of one reading (SD), toe length').conf_low).toBeGreaterThan(0);
    const none = await openHerd([]);
    const empty = await runAnalysis(none, 'measurement');
    await expectSound(none, empty);
    expect(empty.findings).toEqual([]);
  });
});
