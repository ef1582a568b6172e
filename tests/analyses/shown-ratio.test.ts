import { expect, it } from 'vitest';
import type { LevelRates } from '../../src/analyses/level-rates.ts';
import { ratioRows } from '../../src/analyses/onset-clearing/answer.ts';
import { onsetRefusals } from '../../src/analyses/onset-clearing/findings.ts';
import type { LevelRatio } from '../../src/analyses/onset-clearing/fits.ts';
import { optionsSchema } from '../../src/analyses/onset-clearing/options.ts';
import { shownRatio } from '../../src/analyses/shown-ratio.ts';
import { unavailable } from '../../src/core/outcome.ts';

const estimated = (low: number, high: number) =>
  ({
    kind: 'estimated',
    term: 'a',
    estimate: Math.log(Math.sqrt(low * high)),
    stdError: 0.25,
    low: Math.log(low),
    high: Math.log(high),
  }) as const;

it('is the coefficient’s exponential, with a standard error in proportion', () => {
  const shown = shownRatio(estimated(0.5, 8));
  expect(shown).toMatchObject({ low: expect.closeTo(0.5, 12), high: expect.closeTo(8, 12) });
  expect(shown).toMatchObject({ estimate: expect.closeTo(2, 12), stdError: expect.closeTo(0.5, 12) });
});

it('has one end where only a limit can be given', () => {
  const limit = { kind: 'limit', term: 'a', limit: Math.log(3) } as const;
  expect(shownRatio({ ...limit, side: 'below' })).toMatchObject({
    estimate: null,
    low: null,
    stdError: null,
  });
  expect(shownRatio({ ...limit, side: 'above' })).toMatchObject({ estimate: null, high: null });
});

it('is none where the records leave it wide open, or where its error cannot be had', () => {
  expect(shownRatio(estimated(0.01, 99))).toMatchObject({ estimate: expect.any(Number) });
  expect(shownRatio(estimated(0.01, 101))).toMatchObject({ unavailable: 'no-overlap' });
  expect(shownRatio(estimated(0, Number.POSITIVE_INFINITY))).toMatchObject({ unavailable: 'no-overlap' });
  const why = unavailable('collinear', 'two columns are one.');
  expect(shownRatio({ kind: 'unavailable', term: 'a', why })).toBe(why);
  expect(() => shownRatio({ kind: 'fixed', term: 'a', value: 0 })).toThrow('must have been fitted: a');
});

it('is left out of the table of onset and clearing where it is wide open, and said to be', () => {
  const options = optionsSchema.parse({ problem: 'separation', by: 'terrain', adjust: [] });
  const seen = { horses: 30, feet: 100, cycles: 400 } as LevelRatio['seen'];
  const ratio = (onset: LevelRatio['onset']): LevelRatio => ({
    level: 'wet',
    comparison: 'crude',
    onset,
    clearing: estimated(0.5, 2),
    seen,
  });
  const levels = [{ level: null, summary: {}, seen }] as unknown as LevelRates[];
  const told = (onset: LevelRatio['onset']) => {
    const comparison = {
      comparison: 'crude',
      reference: 'mixed',
      ratios: [ratio(onset)],
      leftOut: [],
    } as const;
    return {
      rows: ratioRows(options, comparison).map(({ rate }) => rate),
      refused: onsetRefusals({ options, levels, comparisons: [comparison] }).map(({ sentence }) => sentence),
    };
  };
  expect(told(estimated(0.5, 2))).toEqual({ rows: ['onset', 'clearing'], refused: [] });
  const open = told(estimated(0.001, 1000));
  expect(open.rows).toEqual(['clearing']);
  expect(open.refused).toHaveLength(1);
  expect(open.refused[0]).toContain('wet, onset against mixed: these records leave open');
});
