import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { TRUTH } from '../../data/truth.ts';
import type { AnalysisResult } from '../../src/analyses/analysis.ts';
import type { JobName } from '../../src/analyses/apart.ts';
import type { EntryFit } from '../../src/analyses/entry-points/answer.ts';
import { entryFindings } from '../../src/analyses/entry-points/findings.ts';
import { optionsSchema, questions } from '../../src/analyses/entry-points/options.ts';
import { unavailable } from '../../src/core/outcome.ts';
import { type Cell, rowsOf } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { demoTables, openHerdOf, tenHorses } from '../ten-horses.ts';
import { clonedApart } from './cloned-apart.ts';
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

const DAYS = 70;

/** So many cycles of 70 days that began and ended in these states, three feet a horse. */
function cycles(tag: string, n: number, [start, end]: readonly [number, number], extra: Row): Row[] {
  return Array.from({ length: n }, (_, i) =>
    [start, end].map((grade, k) => ({
      horse_id: `${tag}${Math.floor(i / 3)}`,
      foot: ['LF', 'RF', 'LH'][i % 3]!,
      visit_date: dayAfter(DAYS * k),
      fungal_wall_grade: grade,
      ...(k === 0 ? extra : {}),
    })),
  ).flat();
}

/** Numbers to ten digits: a search may begin elsewhere. */
function expectAlike(
  found: readonly Record<string, Cell>[],
  expected: readonly Record<string, Cell>[],
): void {
  const rounded = (rows: readonly Record<string, Cell>[]): unknown =>
    rows.map((row) =>
      Object.values(row).map((cell) => (typeof cell === 'number' ? cell.toPrecision(10) : cell)),
    );
  expect(rounded(found)).toEqual(rounded(expected));
}

const told = ({ findings, unavailable }: AnalysisResult): string =>
  [...findings, ...unavailable].map(({ sentence }) => sentence).join('\n');

describe('the order of time, in words', () => {
  const seen = { horses: 40, feet: 120, cycles: 300, onsets: 30 };
  const fitted = (place: number, low: number, high: number): EntryFit => ({
    question: questions(options)[place]!,
    comparison: 'crude',
    ratio: { estimate: Math.sqrt(low * high), stdError: 0.2, low, high },
    risk: unavailable('no-rows', 'not asked here.'),
    all: seen,
    exposed: seen,
    unexposed: seen,
    where: 'TRUE',
  });
  const options = optionsSchema.parse({ adjust: [] });
  // The first question is the crack before infection, the sixth infection before the crack.
  const words = (forward: [number, number], turned: [number, number]): string =>
    entryFindings({ options, fits: [fitted(0, ...forward), fitted(5, ...turned)], counted: [] })
      .map(({ sentence }) => sentence)
      .join(' ');

  it('says which comes first only where the intervals of the two orders lie apart', () => {
    expect(words([1.7, 3], [0.6, 1.5])).toContain('cracks tend to come before infection');
    const wide = words([1.7, 3], [0.7, 4.5]);
    expect(wide).toContain('do not settle which of them tends to come first');
    expect(wide).not.toContain('tend to come before');
    expect(words([1.7, 3], [1.2, 2])).toContain('may keep company for some other reason');
    expect(words([0.9, 2], [0.7, 1.5])).not.toMatch(/comes? first|tend to|keep company/);
  });
});

describe('entry points, by hand', () => {
  const crack = { crack_grade: 2, crack_origin: 'ground' };
  const sound = { crack_grade: 0 };
  const herd = [
    // Clear feet with a crack: half had the infection at the next visit.
    ...cycles('A', 30, [0, 0], crack),
    ...cycles('B', 30, [0, 1], crack),
    // Without: 30 of 100; and of 50 infected feet 20 had cleared.
    ...cycles('C', 70, [0, 0], sound),
    ...cycles('D', 30, [0, 1], sound),
    ...cycles('E', 20, [1, 0], sound),
    ...cycles('F', 30, [1, 1], sound),
  ];

  it('is the ratio that gives both shares in closed form', async () => {
    const engine = await openHerd(herd);
    const result = await runAnalysis(engine, 'entry-points', { adjust: [], weeks: DAYS / 7 });
    // Without a crack, P01 = .3 and P10 = .4 over one spacing: rates .51598835 and .68798446 (Kalbfleisch & Lawless
    // 1985). With one, P01 = a/(a + b)(1 − e^−(a + b)) must be one half at the same b.
    const [a0, b] = [0.51598835, 0.68798446];
    const ratio = estimateOf(result, 'onset ratio, crude', 'crack, then wall infection');
    const a = a0 * (ratio.estimate as number);
    expect((a / (a + b)) * -Math.expm1(-(a + b))).toBeCloseTo(0.5, 5);
    expect(ratio).toMatchObject({ n_cycles: 160 });
    const risk = (which: string) =>
      estimateOf(result, 'risk at 10 weeks, crude', `crack, then wall infection: ${which}`).estimate;
    expect(risk('with a crack')).toBeCloseTo(0.5, 5);
    expect(risk('without a crack')).toBeCloseTo(0.3, 5);
    expect(rowsWith(result, 'ratios', { label: 'crack, then wall infection' })[0]).toMatchObject({
      n_exposed: 60,
      exposed_onsets: 30,
    });
    // All cracks start at the ground: the same figure; none at the coronet, and no injury was looked for.
    expect(
      estimateOf(result, 'onset ratio, crude', 'crack from the ground, then wall infection').estimate,
    ).toBeCloseTo(ratio.estimate as number, 9);
    expect(told(result)).toContain('Crack from the coronet, then wall infection: no clear foot with a crack');
    expect(told(result)).toContain(
      'Coronet injury, then wall infection: no trim cycle here has both recorded.',
    );
    await expectSound(engine, result);
  });

  it('is the same where other threads answer, each given numbers alone', async () => {
    const engine = await openHerd(
      herd.map((row, i) => ({ ...row, terrain: Math.floor(i / 2) % 3 === 0 ? 'soft' : 'firm' })),
    );
    const here = await runAnalysis(engine, 'entry-points', { adjust: ['terrain'] });
    const asked: JobName[] = [];
    const there = await runAnalysis(
      engine,
      'entry-points',
      { adjust: ['terrain'] },
      { apart: clonedApart(asked) },
    );
    // Seven questions, the last one in two parts.
    expect(asked).toEqual(Array(8).fill('entry question'));
    expect(told(there)).toBe(told(here));
    expect(there.tables.length).toBeGreaterThan(0);
    for (const { name, table } of there.tables) expectAlike(rowsOf(table), rowsOf(tableOf(here, name).table));
  });

  it('sets a crack of one origin against no crack, and leaves out what is not graded', async () => {
    const engine = await openHerd([
      ...herd,
      ...cycles('G', 12, [0, 1], { crack_grade: 1, crack_origin: 'coronet' }),
      ...cycles('H', 9, [0, 0], { crack_grade: 1 }),
      ...cycles('I', 9, [0, 0], { crack_origin: 'ground' }),
    ]);
    const result = await runAnalysis(engine, 'entry-points', { adjust: [] });
    const counts = (label: string) =>
      rowsWith(result, 'counted', { label: `${label}, then wall infection` }).map(({ n_cycles }) => n_cycles);
    expect(counts('crack')).toEqual([60 + 12 + 9, 100]);
    expect(counts('crack from the ground')).toEqual([60, 100]);
    expect(counts('crack from the coronet')).toEqual([12, 100]);
    await expectSound(engine, result);
  });

  it('gives a one-sided limit, never none, where no onset followed', async () => {
    const engine = await openHerd([
      ...cycles('A', 15, [0, 0], { coronet_injury: true }),
      ...cycles('C', 70, [0, 0], { coronet_injury: false }),
      ...cycles('D', 30, [0, 1], { coronet_injury: false }),
      ...cycles('E', 20, [1, 0], { coronet_injury: false }),
      ...cycles('F', 30, [1, 1], { coronet_injury: false }),
    ]);
    const result = await runAnalysis(engine, 'entry-points', { adjust: [] });
    const row = estimateOf(
      result,
      'onset ratio, crude, one-sided limit',
      'coronet injury, then wall infection',
    );
    expect(row.estimate).toBeNull();
    expect(row.conf_high).toBeGreaterThan(0);
    expect(told(result)).toContain('That is not the same as none');
    await expectSound(engine, result);
  });
});

describe('on herds', () => {
  let demo: Engine;
  let result: AnalysisResult;
  beforeAll(async () => {
    demo = await openHerdOf(await demoTables());
    result = await runAnalysis(demo, 'entry-points');
  });
  afterAll(() => demo.close());

  it('is sound on the demo herd', () => expectSound(demo, result));

  const { onsetRatioCrack } = TRUTH.wallInfection;
  it.each([
    ['crack, then wall infection', onsetRatioCrack],
    ['crack from the ground, then wall infection', onsetRatioCrack],
    ['crack from the coronet, then wall infection', onsetRatioCrack],
    ['coronet injury, then wall infection', 1],
    ['separation, then wall infection', 1],
    ['wall infection, then crack', 1],
    ['wall infection, then separation', 1],
  ])('holds the truth of the demo herd: %s, %d', (label, truth) => {
    const row = estimateOf(result, 'onset ratio, adjusted', label);
    expect(row.conf_low).toBeLessThan(truth);
    expect(row.conf_high).toBeGreaterThan(truth);
  });

  it('tells a crack from chance there, and not a coronet injury, nor the order turned round', () => {
    const low = (label: string) => estimateOf(result, 'onset ratio, adjusted', label).conf_low;
    expect(low('crack, then wall infection')).toBeGreaterThan(1);
    expect(low('coronet injury, then wall infection')).toBeLessThan(1);
    expect(told(result)).toContain('cracks tend to come before infection rather than after it');
  });

  it('gives ten horses sentences where numbers would say nothing, and an empty herd one', async () => {
    const few = await openHerdOf(await tenHorses());
    const sparse = await runAnalysis(few, 'entry-points');
    await expectSound(few, sparse);
    expect(told(sparse)).toContain('too few to compare in words');
    await few.close();
    const one = await openHerd(cycles('A', 3, [0, 1], { crack_grade: 1 }));
    await expectSound(one, await runAnalysis(one, 'entry-points'));
    const none = await runAnalysis(await openHerd([]), 'entry-points');
    expect(none.findings).toEqual([]);
    expect(told(none)).toContain(
      'These records cannot say whether cracks or injuries come before wall infection.',
    );
  });
});
