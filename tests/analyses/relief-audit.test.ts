import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { TRUTH } from '../../data/truth.ts';
import type { AnalysisDraft, AnalysisResult } from '../../src/analyses/analysis.ts';
import { analysisNamed } from '../../src/analyses/index.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { demoTables, openHerdOf, tenHorses } from '../ten-horses.ts';
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

/** One foot seen at a trim and 30 days later. */
function cycle(horse: string, start: Row, end: Row): Row[] {
  const common = { horse_id: horse, foot: 'LF' };
  return [
    {
      ...common,
      visit_date: dayAfter(0),
      separation_grade: 1,
      separation_site: 'within_wall',
      separation_to_white_line_mm: 3,
      ...start,
    },
    { ...common, visit_date: dayAfter(30), ...end },
  ];
}

const told = ({ findings, unavailable }: AnalysisResult): string =>
  [...findings, ...unavailable].map(({ sentence }) => sentence).join('\n');

describe('change of height, by hand', () => {
  const heights = async () => {
    const engine = await openHerd([
      // Cleared counts as height 0: −4. The other relieved one: 6 to 4, −2.
      ...cycle('A', { relief: 'relieved', separation_height_mm: 4 }, { separation_grade: 0 }),
      ...cycle(
        'B',
        { relief: 'relieved', separation_height_mm: 6 },
        { separation_grade: 2, separation_height_mm: 4 },
      ),
      // Only bevelled: 5 to 6, and 5 to 5.
      ...cycle(
        'C',
        { relief: 'bevel_only', separation_height_mm: 5 },
        { separation_grade: 1, separation_height_mm: 6 },
      ),
      ...cycle(
        'D',
        { relief: 'bevel_only', separation_height_mm: 5 },
        { separation_grade: 1, separation_height_mm: 5 },
      ),
      // Nothing of these can be counted: no height, nothing done, not separated.
      ...cycle('E', { relief: 'relieved' }, { separation_grade: 1, separation_height_mm: 5 }),
      ...cycle('F', { relief: 'none', separation_height_mm: 9 }, { separation_grade: 0 }),
      ...cycle(
        'G',
        { relief: 'relieved', separation_grade: 0, separation_height_mm: 9 },
        { separation_grade: 0 },
      ),
    ]);
    return { engine, result: await runAnalysis(engine, 'relief-audit', { adjust: [] }) };
  };

  it('is the difference of two means with the t interval of four cycles', async () => {
    const { engine, result } = await heights();
    const at = (level: string) =>
      estimateOf(result, 'change of separation height per 30 days', `${level}, as recorded`);
    expect(at('relieved').estimate).toBeCloseTo(-3, 9);
    expect(at('only bevelled').estimate).toBeCloseTo(0.5, 9);
    // Residuals −1, 1, 0.5, −0.5: s² = 2.5/2 = 1.25; error √(1.25(1/2 + 1/2)) = 1.118; t(0.975, 2) = 4.302653.
    const difference = at('relieved less only bevelled');
    expect(difference.estimate).toBeCloseTo(-3.5, 9);
    expect(difference.std_error).toBeCloseTo(Math.sqrt(1.25), 9);
    expect(difference.conf_low).toBeCloseTo(-3.5 - 4.302653 * Math.sqrt(1.25), 5);
    expect(difference.conf_high).toBeCloseTo(-3.5 + 4.302653 * Math.sqrt(1.25), 5);
    expect(difference.n_cycles).toBe(4);
    // A cycle is 30 days here, so that both units agree.
    expect(
      estimateOf(result, 'change of separation height per cycle', 'relieved less only bevelled, as recorded')
        .estimate,
    ).toBeCloseTo(-3.5, 9);
    await expectSound(engine, result);
  });

  it('leaves the cleared one out of those still there, so that one relieved cycle remains', async () => {
    const { result } = await heights();
    const still = estimateOf(
      result,
      'change of separation height per 30 days, still there at both ends',
      'relieved, as recorded',
    );
    expect(still.estimate).toBeCloseTo(-2, 9);
    expect(still.n_cycles).toBe(1);
  });

  it('is not compared in words with fewer than four horses a side', async () => {
    const { result } = await heights();
    expect(told(result)).not.toContain('Per 30 days the height');
  });
});

describe('wall broken away, by hand', () => {
  /** `broken` of `n` cycles, each of a horse of its own. */
  const cycles = (tag: string, n: number, broken: number, start: Row): Row[] =>
    Array.from({ length: n }, (_, i) =>
      cycle(
        `${tag}${i}`,
        { breed_type: 'light', ...start },
        { separation_grade: 1, wall_broken: i < broken },
      ),
    ).flat();

  it('pools like feet as Mantel and Haenszel did, and says where there is no evidence', async () => {
    const near = { separation_to_white_line_mm: 6 };
    const clear = { separation_to_white_line_mm: 6.4 };
    const engine = await openHerd([
      ...cycles('A', 4, 1, { relief: 'relieved', ...near }),
      ...cycles('B', 6, 3, { relief: 'bevel_only', ...near }),
      ...cycles('C', 8, 2, { relief: 'relieved', ...clear }),
      ...cycles('D', 2, 2, { relief: 'bevel_only', ...clear }),
      // Ponies were all relieved: nothing to compare with.
      ...cycles('E', 3, 3, { relief: 'relieved', ...near, breed_type: 'pony' }),
      // Not looked for.
      ...cycle('F', { relief: 'relieved', breed_type: 'light' }, { separation_grade: 1 }),
    ]);
    const result = await runAnalysis(engine, 'relief-audit');
    const term = 'wall broken away by the next visit';
    const row = (name: string, scope: string) =>
      estimateOf(result, name, `relieved less only bevelled, ${scope}`);
    // Σ(a n₀ − c n₁)/t = (1·6 − 3·4)/10 + (2·2 − 2·8)/10 = −1.8, Σ n₁n₀/t = 24/10 + 16/10 = 4: −0.45.
    expect(row(term, 'like feet').estimate).toBeCloseTo(-0.45, 9);
    // Σ a n₀/t = 0.6 + 0.4 = 1, Σ c n₁/t = 1.2 + 1.6 = 2.8.
    expect(row(`${term}, ratio`, 'like feet').estimate).toBeCloseTo(1 / 2.8, 9);
    // As recorded the ponies count: 6 of 15 against 5 of 8.
    expect(row(term, 'as recorded').estimate).toBeCloseTo(6 / 15 - 5 / 8, 9);
    expect(row(term, 'near').estimate).toBeCloseTo(4 / 7 - 3 / 6, 9);
    expect(row(term, 'well clear').estimate).toBeCloseTo(2 / 8 - 1, 9);
    expect(
      rowsWith(result, 'strata', { ending: 'wall broken away', stratum: 'near, pony' })[0],
    ).toMatchObject({
      relieved_events: 3,
      n_relieved: 3,
      n_bevelled: 0,
      verdict: 'no evidence here',
    });
    expect(rowsWith(result, 'strata', { ending: 'wall broken away', verdict: 'compared' })).toHaveLength(2);
    expect(told(result)).toContain('near, pony (always relieved)');
    await expectSound(engine, result);
  });

  it('draws near and well clear where the reader does', async () => {
    const engine = await openHerd(
      [4, 6, 8, 10].flatMap((mm) =>
        cycles(`H${mm}`, 3, 1, { relief: 'relieved', separation_to_white_line_mm: mm }),
      ),
    );
    const of = async (near_mm: number) =>
      rowsWith(await runAnalysis(engine, 'relief-audit', { near_mm }), 'done', {}).map(
        ({ place, n_cycles }) => [place, n_cycles],
      );
    expect(await of(6.4)).toEqual([
      ['near', 6],
      ['well clear', 6],
    ]);
    expect(await of(9)).toEqual([
      ['near', 9],
      ['well clear', 3],
    ]);
  });

  it('takes a separation at the white line as a place of its own', async () => {
    const at = { separation_site: 'white_line', separation_to_white_line_mm: null, relief: 'bevel_only' };
    const engine = await openHerd(cycles('A', 3, 1, at));
    expect(rowsWith(await runAnalysis(engine, 'relief-audit'), 'done', {})).toEqual([]);
    const result = await runAnalysis(engine, 'relief-audit', { site: 'any' });
    expect(rowsWith(result, 'done', {})[0]).toMatchObject({ place: 'at the white line', n_cycles: 3 });
  });
});

it('says the same whatever the order of the rows', async () => {
  const rows = ['A', 'B', 'C', 'D', 'E', 'F'].flatMap((horse, k) =>
    cycle(
      horse,
      { relief: k % 2 ? 'relieved' : 'bevel_only', separation_height_mm: 5 + k, breed_type: 'pony' },
      { separation_grade: k % 3 ? 1 : 0, separation_height_mm: k % 3 ? 4 + k : null, wall_broken: k < 3 },
    ),
  );
  const tables = async (given: readonly Row[]) =>
    (await runAnalysis(await openHerd(given), 'relief-audit')).tables.map(
      ({ table }) => table.columns.estimate,
    );
  expect(await tables([...rows].reverse())).toEqual(await tables(rows));
});

describe('return, by hand', () => {
  it('counts from the first clear visit, by what was done at the last trim with it', async () => {
    const visit = (horse: string, day: number, grade: number, relief: string | null = null): Row => ({
      horse_id: horse,
      foot: 'LF',
      visit_date: dayAfter(day),
      separation_grade: grade,
      ...(relief ? { separation_site: 'within_wall', separation_to_white_line_mm: 8, relief } : {}),
    });
    const engine = await openHerd([
      // Bevelled first, relieved at the last trim: back between 30 and 60 days after it was first clear.
      visit('A', 0, 1, 'bevel_only'),
      visit('A', 30, 1, 'relieved'),
      ...[60, 90].map((day) => visit('A', day, 0)),
      visit('A', 120, 1, 'bevel_only'),
      // Clear for 90 days and not seen again.
      visit('B', 0, 2, 'relieved'),
      ...[30, 60, 90, 120].map((day) => visit('B', day, 0)),
    ]);
    const result = await runAnalysis(engine, 'relief-audit', { adjust: [], horizons: [60] });
    // One of two spells has returned by then, the other is known to be clear.
    expect(estimateOf(result, 'seen again within 60 days', 'relieved')).toMatchObject({
      estimate: 0.5,
      n_spells: 2,
    });
    await expectSound(engine, result);
  });
});

describe('on herds', () => {
  let demo: Engine;
  let result: AnalysisResult;
  const drafts: AnalysisDraft[] = [];
  beforeAll(async () => {
    demo = await openHerdOf(await demoTables());
    result = await runAnalysis(demo, 'relief-audit', {}, { draft: (draft) => drafts.push(draft) });
  });
  afterAll(() => demo.close());

  it('is sound on the demo herd', () => expectSound(demo, result));

  it('hands over all but the bands of its curves first', () => {
    expect(drafts).toHaveLength(1);
    expectDraft(drafts[0]!, result);
  });

  it('holds the true chances of broken wall, near and well clear', () => {
    const { wallBroken } = JSON.parse(
      readFileSync(new URL('../../data/truth.json', import.meta.url), 'utf8'),
    ) as { wallBroken: { place: string; relief: string; meanChance: number }[] };
    const chance = (place: string, relief: string): number =>
      wallBroken.find((row) => row.place === place && row.relief === relief)!.meanChance;
    for (const [scope, place] of [
      ['near', 'near'],
      ['well clear', 'clear'],
    ] as const) {
      const difference = chance(place, 'relieved') - chance(place, 'bevel_only');
      const row = rowsWith(result, 'differences', { ending: 'wall broken away', scope })[0]!;
      expect(row.conf_low).toBeLessThan(difference);
      expect(row.conf_high).toBeGreaterThan(difference);
      expect(row.conf_high).toBeLessThan(0);
    }
  });

  it('holds the true change of height where only bevelled, and finds relieved wall to lose more', () => {
    const truth = TRUTH.separation.heightChangeMmPer30d;
    const bevelled = rowsWith(result, 'height', {
      scope: 'as recorded',
      counting: 'still there',
      done: 'only bevelled',
    })[0]!;
    expect(bevelled.conf_low).toBeLessThan(truth.bevel_only);
    expect(bevelled.conf_high).toBeGreaterThan(truth.bevel_only);
    const difference = rowsWith(result, 'height_difference', {
      scope: 'like feet',
      counting: 'still there',
    })[0]!;
    expect(difference.conf_high).toBeLessThan(0);
    // A height stops at 1 mm, so that fast loss shows less than it is.
    expect(difference.conf_low).toBeGreaterThan(truth.relieved - truth.bevel_only);
  });

  it('holds that handling makes no odds to the rate of return', () => {
    const row = estimateOf(result, 'rate of return, relieved over only bevelled', 'like feet');
    expect(row.conf_low).toBeLessThan(1);
    expect(row.conf_high).toBeGreaterThan(1);
  });

  it('reads in inches as in mm, the tables staying in mm', async () => {
    const analysis = analysisNamed('relief-audit');
    const context = {
      engine: demo,
      today: 0 as never,
      lengths: 'in' as const,
      signal: new AbortController().signal,
      progress: () => undefined,
    };
    const inches = await analysis.run(analysis.options.parse({}), context);
    expect(told(inches)).toContain('Near is under 0.25\u00a0in');
    expect(told(inches)).not.toMatch(/\d\u00a0mm/);
    expect(rowsWith(inches, 'height', {})).toEqual(rowsWith(result, 'height', {}));
  });

  it('gives ten horses sentences where numbers would say nothing, and an empty herd one', async () => {
    const few = await openHerdOf(await tenHorses());
    const sparse = await runAnalysis(few, 'relief-audit');
    await expectSound(few, sparse);
    expect(sparse.unavailable.length).toBeGreaterThan(0);
    await few.close();
    const one = await openHerd(
      cycle('A', { relief: 'relieved', separation_height_mm: 4 }, { separation_grade: 0 }),
    );
    await expectSound(one, await runAnalysis(one, 'relief-audit'));
    const none = await runAnalysis(await openHerd([]), 'relief-audit');
    expect(told(none)).toContain('No trim cycle here began with separation within the wall');
    expect(none.findings).toEqual([]);
  });
});
