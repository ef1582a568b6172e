import { describe, expect, it } from 'vitest';
import { growthExponent, inTurn, repeated, spreadOf, wantsMore } from './measure.ts';
import { benchmarksText } from './report.ts';
import { type Measurement, merged, type PartResult } from './results.ts';
import { targetLines } from './targets.ts';
import { figure, spreadWords } from './words.ts';

const five = (median: number): number[] => [median + 2, median - 1, median, median + 1, median - 2];

const part = (name: PartResult['part'], rows: number, measurements: readonly Measurement[]): PartResult => ({
  part: name,
  rows,
  measurements,
  commit: 'abc1234',
  at: '2026-11-29T17:00:00.000Z',
  machine: '2 × made-up processor, 8 GB, linux x64',
  versions: { Node: 'v20' },
  notes: [],
});
const ms = (key: string, values: readonly number[], more: Partial<Measurement> = {}): Measurement => ({
  key,
  what: key,
  unit: 'ms',
  values,
  ...more,
});
const native = (median: number) => ({ beside: { name: 'native', values: five(median) } });

describe('times', () => {
  it('are told as median, least and most, whatever the order they came in', () => {
    expect(spreadOf([5, 1, 9, 3, 2])).toEqual({ median: 3, least: 1, most: 9, n: 5 });
    expect(spreadOf([4, 1]).median).toBe(2.5);
    expect(() => spreadOf([])).toThrow('must not be empty');
  });

  it('are taken five times, and three times where one is long, and once beyond that', () => {
    expect(wantsMore([1, 2, 3, 4])).toBe(true);
    expect(wantsMore([1, 2, 3, 4, 5])).toBe(false);
    expect(wantsMore([30_000, 1])).toBe(true);
    expect(wantsMore([30_000, 1, 1])).toBe(false);
    expect(wantsMore([61_000])).toBe(false);
  });

  it('are taken in turn', async () => {
    const order: string[] = [];
    const times = await inTurn({ a: () => order.push('a'), b: () => order.push('b') });
    expect(order.join('')).toBe('ababababab');
    expect([times.a.length, times.b.length]).toEqual([5, 5]);
    let count = 0;
    // A quick job fifteen times.
    expect((await repeated(async () => ++count)).length).toBe(15);
    expect(await repeated(async () => 1_000 + ++count)).toEqual([1_016, 1_017, 1_018, 1_019, 1_020]);
  });

  it('grow with a power of the size', () => {
    expect(growthExponent(10, 100, 10)).toBeCloseTo(1, 12);
    expect(growthExponent(10, 1000, 10)).toBeCloseTo(2, 12);
  });

  it('are worded in milliseconds or seconds, with the runs where they were not five', () => {
    expect(spreadWords(five(123))).toBe('123\u00a0ms (121–125)');
    expect(spreadWords([1500, 1400, 1600])).toBe('1.5\u00a0s (1.4–1.6, 3 runs)');
    expect(spreadWords([40_000])).toBe('40\u00a0s (one run)');
    expect(figure(0.012345)).toBe('0.0123');
    expect(figure(12_345)).toBe('12,300');
  });
});

describe('results', () => {
  it('take the place of what the same part gave before at the same size, and of nothing else', () => {
    const before = [part('intake', 100, []), part('pages', 100, []), part('intake', 1000, [])];
    const fresh = { ...part('intake', 100, []), commit: 'def5678' };
    const after = merged(before, fresh);
    expect(after.map(({ part: name, rows, commit }) => [name, rows, commit])).toEqual([
      ['intake', 100, 'def5678'],
      ['pages', 100, 'abc1234'],
      ['intake', 1000, 'abc1234'],
    ]);
  });

  it('take, as pieces of a part, the place of the same measurements only', () => {
    const before = [part('pages', 100, [ms('sql a', [1]), ms('sql b', [2])])];
    const fresh = { ...part('pages', 100, [ms('sql b', [3])]), of: ['b'] };
    const told = (results: readonly PartResult[]) =>
      results.map(({ measurements }) => measurements.map(({ key, values }) => `${key} ${values}`));
    expect(told(merged(before, fresh))).toEqual([['sql a 1'], ['sql b 3']]);
    expect(told(merged(merged(before, fresh), fresh))).toEqual([['sql a 1'], ['sql b 3']]);
    expect(told(merged(before, part('pages', 100, [])))).toEqual([[]]);
  });
});

describe('targets', () => {
  const lineOf = (results: readonly PartResult[], what: RegExp) =>
    targetLines(results).filter((line) => what.test(line.what));

  it('stand there unmeasured where nothing was measured', () => {
    const lines = targetLines([]);
    expect(lines.length).toBeGreaterThanOrEqual(12);
    expect(lines.every(({ measured, met }) => measured === '' && met === null)).toBe(true);
  });

  it('are held against the slower side: met at the limit, not met beyond it', () => {
    const results = [
      part('intake', 100_000, [ms('intake parquet', five(300), native(100))]),
      part('intake', 1_000_000, [ms('intake parquet', five(310), native(100))]),
    ];
    expect(lineOf(results, /^Parquet/).map(({ measured, met }) => [measured, met])).toEqual([
      ['3 ×', true],
      ['3.1 ×', false],
    ]);
  });

  it('name the worst page', () => {
    const results = [
      part('pages', 100_000, [
        ms('sql growth', five(100), { ...native(100), what: 'Growth' }),
        ms('sql clients', five(300), { ...native(100), what: 'Clients' }),
      ]),
    ];
    expect(lineOf(results, /^SQL/)).toMatchObject([{ measured: '3 × (Clients)', met: false }]);
  });

  it('count how many times as fast as R', () => {
    const results = [part('estimators', 100_000, [ms('estimator growth', five(100), native(6000))])];
    expect(lineOf(results, /lme4$/)).toMatchObject([
      { measured: '60 ×', met: true },
      { measured: '', met: null },
    ]);
  });

  it('compare an analysis between two sizes', () => {
    const results = [
      part('pages', 100_000, [ms('analysis growth of a', five(100)), ms('analysis wear of b', five(50))]),
      part('pages', 1_000_000, [ms('analysis growth of a', five(1100)), ms('analysis wear of b', five(700))]),
    ];
    expect(lineOf(results, /^Any analysis/)).toMatchObject([{ measured: '14 × (wear of b)', met: false }]);
  });

  it('ask less of a cohort change on a small herd than on a large one', () => {
    const change = (rows: number) =>
      part('browser', rows, [ms('browser cohort growth', five(500)), ms('browser again growth', five(9000))]);
    expect(
      lineOf([change(100_000), change(1_000_000)], /^Change to a cohort/).map(({ target, met }) => [
        target,
        met,
      ]),
    ).toEqual([
      ['under 150 ms on every page', false],
      ['under 1,000 ms on every page', true],
    ]);
  });
});

describe('the document', () => {
  it('tells every measurement, what it is beside, and where it was made', () => {
    const results = [
      part('intake', 100_000, [ms('intake csv', five(200), { ...native(100), what: 'CSV' })]),
      part('intake', 1_000_000, [ms('intake csv', five(2000), { ...native(900), what: 'CSV' })]),
    ];
    const text = benchmarksText(results, '## Targets not met\n');
    expect(text).toContain('| CSV | 200\u00a0ms (198–202) | 100\u00a0ms (98–102), native | 2 × as long |  |');
    expect(text).toContain('| CSV | 100,000 → 1,000,000: 1.00 |');
    expect(text).toContain('| intake, 100,000 | abc1234 | 2026-11-29 17:00 | 2 × made-up processor');
    expect(text).not.toMatch(/NaN|undefined/);
  });

  it('puts pieces of a part measured at different times into one table, and says when each was', () => {
    const results = [
      {
        ...part('browser', 100_000, [ms('browser page a', five(300), { what: 'Opened: A' })]),
        of: ['pages'],
      },
      { ...part('browser', 100_000, [ms('browser again a', five(90), { what: 'Again: A' })]), of: ['again'] },
    ];
    const text = benchmarksText(results, '');
    expect(text.match(/### In a real browser/g)).toHaveLength(1);
    expect(text).toContain('| A | 300\u00a0ms (298–302) |  |  | 90\u00a0ms (88–92) |');
    expect(text).toContain('| browser (pages), 100,000 | abc1234');
    expect(text).toContain('| browser (again), 100,000 | abc1234');
  });
});
