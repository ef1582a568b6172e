import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isUnavailable, type Outcome } from '../../src/core/outcome.ts';
import { fitBinary } from '../../src/stats/cloglog.ts';
import { fitOnsetSinceReset } from '../../src/stats/onset-since-reset.ts';
import { coefficient, type PredictorFit } from '../../src/stats/predictor-fit.ts';
import { fitTwoStateMarkov } from '../../src/stats/two-state-markov.ts';

/** Herds too small for any model: 1 to 30 rows, 1 to 4 clusters, a group that may be empty. */
const row = fc.record({
  start: fc.integer({ min: 0, max: 1 }),
  end: fc.integer({ min: 0, max: 1 }),
  time: fc.constantFrom(28, 42, 56, 200),
  group: fc.integer({ min: 0, max: 1 }),
  cluster: fc.integer({ min: 1, max: 4 }),
});
const herd = fc.record({
  rows: fc.array(row, { minLength: 1, maxLength: 30 }),
  covariance: fc.constantFrom('cluster' as const, 'model' as const),
});

/** Numbers throughout, or a sentence. */
function expectHonest(outcome: Outcome<PredictorFit>): void {
  if (isUnavailable(outcome)) {
    expect(outcome.sentence.length).toBeGreaterThan(20);
    return;
  }
  expect([...outcome.theta, ...outcome.covariance, ...outcome.modelCovariance].every(Number.isFinite)).toBe(
    true,
  );
  expect(outcome.limits.every(({ limit }) => Number.isFinite(limit))).toBe(true);
  outcome.free.forEach((isFree, j) => {
    expect(outcome.modelCovariance[j * outcome.theta.length + j]! > 0).toBe(isFree);
    const { kind } = coefficient(outcome, j);
    expect(kind === 'estimated' || kind === 'unavailable').toBe(isFree);
  });
}

describe('on any handful of rows', () => {
  it('every model gives finite numbers or a sentence', () => {
    const kinds = new Set<string>();
    fc.assert(
      fc.property(herd, ({ rows, covariance }) => {
        const x = Float64Array.from(rows.flatMap(({ group }) => [1, group]));
        const cluster = rows.map((r) => r.cluster);
        const data = {
          start: rows.map((r) => r.start),
          end: rows.map((r) => r.end),
          time: rows.map((r) => r.time),
          onset: x,
          onsetTerms: ['level', 'group'],
          clearing: new Float64Array(rows.length).fill(1),
          clearingTerms: ['clearing'],
          cluster,
        };
        const outcomes = [
          fitOnsetSinceReset(data, { covariance }),
          fitTwoStateMarkov({ ...data, time: data.time.map((t) => t / 365.25) }, { covariance }),
          fitBinary({ event: data.end, x, terms: data.onsetTerms, cluster }, { covariance }),
          fitBinary({ event: data.end, x, terms: data.onsetTerms, cluster }, { covariance, link: 'logit' }),
        ];
        for (const outcome of outcomes) {
          expectHonest(outcome);
          kinds.add(isUnavailable(outcome) ? outcome.unavailable : 'fit');
        }
      }),
      { numRuns: 150, seed: 7 },
    );
    // The herds were hard enough to be refused for several reasons, and not so hard that none was fitted.
    expect(kinds).toContain('fit');
    expect(kinds.size).toBeGreaterThan(5);
  });

  it('10,000 rows of one cluster are still one cluster', () => {
    const n = 10_000;
    const data = {
      start: Array.from({ length: n }, (_, i) => i % 2),
      end: Array.from({ length: n }, (_, i) => (i % 7 < 3 ? 1 : 0)),
      time: Array.from({ length: n }, (_, i) => 28 + (i % 5) * 7),
      onset: new Float64Array(n).fill(1),
      onsetTerms: ['level'],
      clearing: new Float64Array(n).fill(1),
      clearingTerms: ['clearing'],
      cluster: new Int32Array(n),
    };
    const fit = fitOnsetSinceReset(data);
    expect(isUnavailable(fit) && fit.unavailable).toBe('one-cluster');
  });
});
