import { describe, expect, it } from 'vitest';
import { type JobName, made } from '../../src/analyses/apart.ts';
import { alikeCycles, COMPARISONS } from '../../src/analyses/interval-effect/alike.ts';
import { fitComparisons } from '../../src/analyses/interval-effect/fits.ts';
import { fitBinary } from '../../src/stats/cloglog.ts';
import { fitOnsetSinceReset } from '../../src/stats/onset-since-reset.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { splitWithinBetween } from '../../src/stats/within-between.ts';
import { expectAll, value } from '../stats/expect-close.ts';
import { clonedApart } from './cloned-apart.ts';

/** Ninety horses of four feet on two grounds, each with a usual interval, some of which several share. */
function herd() {
  const random = seededRandom(7);
  const rows = Array.from({ length: 90 * 4 * 6 }, (_, row) => {
    const horse = Math.floor(row / 24);
    const days = 28 + 7 * (horse % 4) + 7 * random.integer(0, 2);
    const [start, soft] = [random.integer(0, 2) === 0 ? 1 : 0, random.integer(0, 1)];
    const chance = 1 - Math.exp(-0.25 * (1 + soft) * (days / 42) ** 1.5);
    return { horse, days, soft, start, end: random.uniform() < (start ? 0.6 : chance) ? 1 : 0 };
  });
  return {
    days: Float64Array.from(rows, ({ days }) => days),
    start: Uint8Array.from(rows, ({ start }) => start),
    end: Uint8Array.from(rows, ({ end }) => end),
    horse: Int32Array.from(rows, ({ horse }) => horse),
    groups: new Map([
      ['terrain', { levels: ['firm', 'soft'], codes: Int32Array.from(rows, ({ soft }) => soft) }],
    ]),
  };
}

describe('comparisons of intervals', () => {
  const rows = herd();
  const pause = async () => undefined;

  it('are those of the rows as they are, one by one', async () => {
    const fits = await fitComparisons(alikeCycles(rows), [42], made(pause), false);
    const n = rows.days.length;
    const soft = rows.groups.get('terrain')!.codes;
    const logs = rows.days.map((days) => Math.log(days / 42));
    const clear = rows.start.map((state) => 1 - state);
    const usual = value(splitWithinBetween(logs, rows.horse, clear)).between;
    const isCommon = soft.reduce((sum, of) => sum + of, 0) * 2 > n ? 0 : 1;
    const level = Float64Array.from(soft, (of) => (of === isCommon ? 1 : 0));
    for (const [k, comparison] of COMPARISONS.entries()) {
      const columns = [new Float64Array(n).fill(1), level, usual].slice(0, k + 1);
      const across = (all: readonly Float64Array[]) =>
        Float64Array.from({ length: n * all.length }, (_, at) => {
          return all[at % all.length]![Math.floor(at / all.length)]!;
        });
      const terms = (all: readonly unknown[]) => all.map((_, j) => `${j}`);
      const exact = value(
        fitOnsetSinceReset({
          ...{ start: rows.start, end: rows.end, time: rows.days, cluster: rows.horse },
          ...{ onset: across(columns), onsetTerms: terms(columns) },
          ...{ clearing: new Float64Array(n).fill(1), clearingTerms: ['clearing'] },
        }),
      );
      const { fit, check, comparison: named } = fits[k]!;
      expect(named).toBe(comparison);
      expectAll(value(fit).theta, exact.theta, 1e-9);
      expectAll(value(fit).covariance, exact.covariance, 1e-8);
      expect(value(fit).nRows).toBe(n);
      const timed = [...columns, logs];
      const beside = value(
        fitBinary({
          ...{ event: rows.end, x: across(timed), terms: terms(timed) },
          ...{ cluster: rows.horse, weight: clear },
        }),
      );
      expectAll(value(check).theta, beside.theta, 1e-9);
      expectAll(value(check).covariance, beside.covariance, 1e-8);
    }
  });

  it('are the same where other threads make them, each given numbers alone', async () => {
    const asked: JobName[] = [];
    const here = await fitComparisons(alikeCycles(rows), [28, 42], made(pause), false);
    const there = await fitComparisons(alikeCycles(rows), [28, 42], clonedApart(asked), true);
    expect(there).toEqual(here);
    expect(asked.slice(0, 2)).toEqual(['interval fits', 'interval checks']);
    expect(asked.slice(2)).toEqual(Array(6).fill('risk by time'));
  });
});
