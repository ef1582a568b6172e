import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isUnavailable, type Outcome } from '../../src/core/outcome.ts';
import { kaplanMeier, type RightCensoredData, stepAt } from '../../src/stats/kaplan-meier.ts';
import { logRank } from '../../src/stats/log-rank.ts';
import { seededRandom } from '../../src/stats/random.ts';
import aml from '../reference/kaplan-meier-aml.json';
import reference from '../reference/time-to-return.json';

function computed<T>(outcome: Outcome<T>): T {
  if (isUnavailable(outcome)) throw new Error(`expected an estimate: ${outcome.unavailable}`);
  return outcome;
}

function rows(time: readonly number[], event: readonly number[]): RightCensoredData {
  return { time: Float64Array.from(time), event: Uint8Array.from(event) };
}

function where(time: readonly number[], event: readonly number[], keep: (i: number) => boolean) {
  return rows(
    time.filter((_, i) => keep(i)),
    event.filter((_, i) => keep(i)),
  );
}

/** A reference value with null for none, to ten digits. */
const close = (value: number | null) => (value === null ? null : expect.closeTo(value, 9));

describe('product-limit estimate against R survival', () => {
  const { gehan } = reference;

  it('agrees on 6-MP at the published times, with its medians (Gehan 1965, Biometrika 52:203–223)', () => {
    const fit = computed(kaplanMeier(where(gehan.time, gehan.event, (i) => gehan.control[i] === 0)));
    const published = { 6: 0.8571, 7: 0.8067, 10: 0.7529, 13: 0.6902, 16: 0.6275, 22: 0.5378, 23: 0.4482 };
    for (const [time, survival] of Object.entries(published)) {
      expect(stepAt(fit, Number(time))!.survival).toBeCloseTo(survival, 4);
    }
    expect(fit.median).toEqual({ estimate: 23, low: 13, high: null });
    const control = computed(kaplanMeier(where(gehan.time, gehan.event, (i) => gehan.control[i] === 1)));
    expect(control.median).toEqual({ estimate: 8, low: 4, high: 11 });
  });

  it.each(['6-MP', 'control'])('agrees on every step of %s: survival, Greenwood, log–log limits', (name) => {
    const own = computed(
      kaplanMeier(where(gehan.time, gehan.event, (i) => gehan.control[i] === (name === 'control' ? 1 : 0))),
    );
    const at = Array.from(gehan.strata.keys()).filter((i) => gehan.strata[i] === `treat=${name}`);
    expect(own.steps.map((s) => s.time)).toEqual(at.map((i) => gehan.times[i]));
    expect(own.steps.map((s) => s.survival)).toEqual(at.map((i) => expect.closeTo(gehan.surv[i]!, 9)));
    expect(own.steps.map((s) => s.stdError)).toEqual(at.map((i) => close(gehan.stdErr[i] ?? null)));
    expect(own.steps.map((s) => s.low)).toEqual(at.map((i) => close(gehan.low[i] ?? null)));
    expect(own.steps.map((s) => s.high)).toEqual(at.map((i) => close(gehan.high[i] ?? null)));
  });

  it('agrees on the leukaemia maintenance trial, counts at risk included', () => {
    const { values, data } = aml;
    for (const [g, name] of ['Maintained', 'Nonmaintained'].entries()) {
      const fit = computed(kaplanMeier(where(data.time, data.status, (i) => data.x[i] === name)));
      const at = Array.from(values.strata.keys()).filter((i) => values.strata[i] === `x=${name}`);
      expect(fit.steps).toEqual(
        at.map((i) => ({
          time: values.time[i],
          nRisk: values.n_risk[i],
          nEvents: values.n_event[i],
          survival: expect.closeTo(values.surv[i]!, 9),
          stdError: close(values.std_err[i] ?? null),
          low: close(values.lower_loglog[i] ?? null),
          high: close(values.upper_loglog[i] ?? null),
        })),
      );
      expect(fit.median.estimate).toBe(values.median.quantile[g]);
    }
  });
});

describe('log-rank comparison', () => {
  it('agrees with R on 6-MP against control', () => {
    const { gehan } = reference;
    const test = computed(logRank(rows(gehan.time, gehan.event), Int32Array.from(gehan.control)));
    expect(test.chiSquare).toBeCloseTo(16.79294, 5);
    expect(test.chiSquare).toBeCloseTo(gehan.chiSquare, 9);
    expect(test.degreesOfFreedom).toBe(1);
  });

  it('agrees with R on the leukaemia trial, observed and expected', () => {
    const { logrank } = aml.values;
    const group = Int32Array.from(aml.data.x, (name) => (name === 'Maintained' ? 0 : 1));
    const test = computed(logRank(rows(aml.data.time, aml.data.status), group));
    expect(test.chiSquare).toBeCloseTo(logrank.chisq, 9);
    expect(test.groups.map((g) => g.observed)).toEqual(logrank.obs);
    expect(test.groups.map((g) => g.expected)).toEqual(logrank.exp.map((e) => expect.closeTo(e, 9)));
  });

  it('agrees with R on four groups (lung cancer trial, Kalbfleisch & Prentice)', () => {
    const { veteran } = reference;
    const test = computed(logRank(rows(veteran.time, veteran.event), Int32Array.from(veteran.cell)));
    expect(test.degreesOfFreedom).toBe(3);
    expect(test.chiSquare).toBeCloseTo(veteran.chiSquare, 8);
    expect(test.pValue).toBeCloseTo(veteran.pValue, 10);
    expect(test.groups.map((g) => g.expected)).toEqual(veteran.expected.map((e) => expect.closeTo(e, 8)));
  });

  it('does not depend on row order or group labels', () => {
    const { veteran } = reference;
    const order = seededRandom(4).shuffle(Array.from(veteran.time.keys()));
    const moved = computed(
      logRank(
        rows(
          order.map((i) => veteran.time[i]!),
          order.map((i) => veteran.event[i]!),
        ),
        Int32Array.from(order, (i) => 900 - 7 * veteran.cell[i]!),
      ),
    );
    expect(moved.chiSquare).toBeCloseTo(veteran.chiSquare, 8);
  });

  it('says why there is nothing to compare', () => {
    const two = rows([1, 2], [1, 0]);
    expect(logRank(rows([], []), new Int32Array(0))).toMatchObject({ unavailable: 'no-rows' });
    expect(logRank(two, Int32Array.from([5, 5]))).toMatchObject({ unavailable: 'one-level' });
    expect(logRank(rows([1, 2], [0, 0]), Int32Array.from([0, 1]))).toMatchObject({
      unavailable: 'no-events',
    });
    // The first group has left before the second one's only event.
    expect(logRank(rows([1, 5], [0, 1]), Int32Array.from([0, 1]))).toMatchObject({
      unavailable: 'no-overlap',
    });
  });
});

describe('product-limit estimate by hand', () => {
  it('counts a row censored at an event time as still at risk there', () => {
    // 1+, 2, 2+, 3, unsorted: S(2) = 2/3, S(3) = 0; Greenwood at 2: S²·1/(3·2).
    const fit = computed(kaplanMeier(rows([3, 2, 1, 2], [1, 0, 0, 1])));
    expect(fit.steps).toHaveLength(2);
    expect(fit.steps[0]).toMatchObject({
      time: 2,
      nRisk: 3,
      nEvents: 1,
      survival: expect.closeTo(2 / 3, 12),
    });
    expect(fit.steps[0]!.stdError).toBeCloseTo((2 / 3) * Math.sqrt(1 / 6), 12);
    expect(fit.steps[1]).toEqual({
      time: 3,
      nRisk: 1,
      nEvents: 1,
      survival: 0,
      stdError: null,
      low: null,
      high: null,
    });
    expect(stepAt(fit, 1.9)).toBeNull();
  });

  it('takes the middle of a level stretch at one half as the median', () => {
    expect(computed(kaplanMeier(rows([1, 2, 3, 4], [1, 1, 1, 1]))).median.estimate).toBe(2.5);
    expect(computed(kaplanMeier(rows([1, 5, 5, 5], [1, 0, 0, 0]))).median.estimate).toBeNull();
  });

  it('keeps its interval around the estimate, and its standard error over √2 on twice the rows', () => {
    const row = fc.tuple(fc.integer({ min: 1, max: 9 }), fc.integer({ min: 0, max: 1 }));
    const sample = fc.array(row, { minLength: 2, maxLength: 30 }).filter((r) => r.some(([, e]) => e === 1));
    fc.assert(
      fc.property(sample, (r) => {
        const one = computed(
          kaplanMeier(
            rows(
              r.map(([t]) => t),
              r.map(([, e]) => e),
            ),
          ),
        );
        const both = [...r, ...r];
        const two = computed(
          kaplanMeier(
            rows(
              both.map(([t]) => t),
              both.map(([, e]) => e),
            ),
          ),
        );
        one.steps.forEach((step, i) => {
          expect(two.steps[i]!.survival).toBeCloseTo(step.survival, 12);
          if (step.stdError === null) return;
          expect(step.low!).toBeLessThan(step.survival);
          expect(step.high!).toBeGreaterThan(step.survival);
          expect(two.steps[i]!.stdError!).toBeCloseTo(step.stdError / Math.SQRT2, 12);
        });
      }),
      { numRuns: 80 },
    );
  });

  it('gives no number without rows or events, and rejects what is no time', () => {
    expect(kaplanMeier(rows([], []))).toMatchObject({ unavailable: 'no-rows' });
    expect(kaplanMeier(rows([3, 4], [0, 0]))).toMatchObject({ unavailable: 'no-events' });
    expect(() => kaplanMeier(rows([Number.NaN], [1]))).toThrow(/time must be 0 or more/);
    expect(() => kaplanMeier(rows([1], [2]))).toThrow(/event must be 0 or 1/);
    expect(() => kaplanMeier(rows([1], [1]), 95)).toThrow(/confidence must lie between 0 and 1/);
  });
});
