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

const FEET = ['LF', 'RF', 'LH'];

/** One foot a pair of visits 73 days apart, three feet a horse. */
function pairs(
  counts: { n00: number; n01: number; n10: number; n11: number },
  extra: Row,
  tag: string,
): Row[] {
  const states = [
    ...Array<[number, number]>(counts.n00).fill([0, 0]),
    ...Array<[number, number]>(counts.n01).fill([0, 1]),
    ...Array<[number, number]>(counts.n10).fill([1, 0]),
    ...Array<[number, number]>(counts.n11).fill([1, 1]),
  ];
  return states.flatMap(([start, end], i) =>
    [start, end].map((grade, k) => ({
      // Dealt out, so that every horse has feet of several kinds.
      horse_id: `${tag}${i % Math.ceil(states.length / 3)}`,
      foot: FEET[Math.floor(i / Math.ceil(states.length / 3))]!,
      visit_date: dayAfter(73 * k),
      separation_grade: grade,
      ...extra,
    })),
  );
}

const SPACED = { n00: 70, n01: 30, n10: 20, n11: 30 };
const YEARS = 73 / 365.25;

describe('onset and clearing', () => {
  it('is the closed form for equally spaced looks', async () => {
    const engine = await openHerd(pairs(SPACED, { terrain: 'soft' }, 'S'));
    const result = await runAnalysis(engine, 'onset-clearing', { by: 'none', adjust: [] });
    // P01 = .3, P10 = .4: rates .51598835 and .68798446 over one spacing (Kalbfleisch & Lawless 1985, closed form).
    expect(estimateOf(result, 'onset').estimate).toBeCloseTo(0.51598835 / YEARS, 5);
    expect(estimateOf(result, 'clearing').estimate).toBeCloseTo(0.68798446 / YEARS, 5);
    expect(estimateOf(result, 'mean spell').estimate).toBeCloseTo(73 / 0.68798446, 3);
    expect(estimateOf(result, 'long-run share affected').estimate).toBeCloseTo(3 / 7, 6);
    expect(estimateOf(result, 'onset')).toMatchObject({
      problem: 'separation',
      n_horses: 50,
      n_feet: 150,
      n_cycles: 150,
    });
    expect(rowsWith(result, 'rates', { measure: 'onset' })[0]).toMatchObject({ onsets: 30, clearings: 20 });
    expect(result.findings[0]?.sentence).toContain('began an estimated 2.58 times a year');
    expect(result.findings[0]?.sentence).toContain('lasted 106\u00a0days on average');
    expect(result.findings[0]?.sentence).toContain('42.9\u00a0% of feet would have it in the long run');
    await expectSound(engine, result);
  });

  it('gives the crude ratio of two levels as the ratio of their own rates', async () => {
    const engine = await openHerd([
      ...pairs(SPACED, { terrain: 'soft', moisture: 'wet' }, 'S'),
      ...pairs({ n00: 80, n01: 10, n10: 20, n11: 30 }, { terrain: 'firm', moisture: 'dry' }, 'F'),
    ]);
    const result = await runAnalysis(engine, 'onset-clearing', { adjust: ['moisture'] });
    const rate = (level: string) => estimateOf(result, 'onset', level).estimate as number;
    const ratio = estimateOf(result, 'onset rate ratio, crude', 'ground: firm against soft');
    expect(ratio.estimate).toBeCloseTo(rate('ground: firm') / rate('ground: soft'), 5);
    expect(ratio).toMatchObject({ n_cycles: 290, n_feet: 290 });
    // The delta method, with Student's t on 99 or fewer horses less 1 at the ends.
    const reach = Math.log((ratio.conf_high as number) / (ratio.estimate as number));
    const t = reach / ((ratio.std_error as number) / (ratio.estimate as number));
    expect(t).toBeGreaterThan(1.959);
    expect(t).toBeLessThan(2.1);
    // Ground and moisture say the same here: nothing adjusted, and said.
    expect(rowsWith(result, 'ratios', { comparison: 'adjusted' })).toEqual([]);
    expect(result.unavailable.map((why) => why.unavailable)).toContain('collinear');
    await expectSound(engine, result);
  });

  it('gives a one-sided limit, not a rate, to a level without onsets', async () => {
    const engine = await openHerd([
      ...pairs(SPACED, { terrain: 'soft' }, 'S'),
      ...pairs({ n00: 40, n01: 0, n10: 10, n11: 20 }, { terrain: 'firm' }, 'F'),
    ]);
    const result = await runAnalysis(engine, 'onset-clearing', { adjust: [] });
    const limit = estimateOf(result, 'onset rate ratio, crude, one-sided limit', 'ground: firm against soft');
    expect(limit.estimate).toBeNull();
    expect(limit.conf_low).toBeNull();
    expect(limit.conf_high).toBeGreaterThan(0);
    expect(limit.conf_high).toBeLessThan(1);
    expect(rowsWith(result, 'rates', { level: 'firm' })).toEqual([]);
    const said = result.findings.map(({ sentence }) => sentence).join(' ');
    expect(said).toContain(
      'No onset of separation was seen where ground is firm. That is not the same as none',
    );
    await expectSound(engine, result);
  });

  it('leaves a level that was never seen to begin affected out of the comparison, and says so', async () => {
    const engine = await openHerd([
      ...pairs(SPACED, { terrain: 'soft' }, 'S'),
      ...pairs({ n00: 60, n01: 30, n10: 20, n11: 30 }, { terrain: 'firm' }, 'F'),
      ...pairs({ n00: 30, n01: 0, n10: 0, n11: 0 }, { terrain: 'rocky' }, 'R'),
    ]);
    const result = await runAnalysis(engine, 'onset-clearing', { adjust: [] });
    expect(rowsWith(result, 'ratios', {}).map((row) => row.level)).not.toContain('rocky');
    expect(rowsWith(result, 'ratios', { level: 'firm', rate: 'onset', comparison: 'crude' })).toHaveLength(1);
    expect(result.unavailable.map(({ sentence }) => sentence).join(' ')).toContain('ground rocky');
    await expectSound(engine, result);
  });

  it('gives the herd its rates where the files lack the ground, with a sentence for it', async () => {
    const engine = await openHerd(pairs(SPACED, {}, 'S'));
    const result = await runAnalysis(engine, 'onset-clearing');
    expect(estimateOf(result, 'onset').estimate).toBeCloseTo(0.51598835 / YEARS, 5);
    expect(result.counts).toEqual({ horses: 50, feet: 150, cycles: 150 });
    expect(result.unavailable.map(({ sentence }) => sentence)).toContain(
      'Ground is not recorded in these rows, so it is not taken into account.',
    );
    await expectSound(engine, result);
  });

  it('holds alike what is recorded, and tells of cycles without a level', async () => {
    const engine = await openHerd([
      ...pairs(SPACED, { terrain: 'soft' }, 'S'),
      ...pairs({ n00: 80, n01: 10, n10: 20, n11: 30 }, { terrain: 'firm' }, 'F'),
      ...pairs({ n00: 5, n01: 1, n10: 1, n11: 2 }, {}, 'U'),
    ]);
    const result = await runAnalysis(engine, 'onset-clearing', { adjust: ['moisture'] });
    const ratio = (comparison: string) =>
      estimateOf(result, `onset rate ratio, ${comparison}`, 'ground: firm against soft').estimate as number;
    expect(ratio('adjusted')).toBeCloseTo(ratio('crude'), 8);
    expect(result.findings.map(({ sentence }) => sentence)).toContain(
      '9 trim cycles of 3 horses without ground could not take part in this comparison.',
    );
    await expectSound(engine, result);
  });
});
