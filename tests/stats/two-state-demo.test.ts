/** Against R on the demo herd's separation by ground: tests/reference/two-state-demo.{R,json}. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { fitBinary } from '../../src/stats/cloglog.ts';
import { fitOnsetSinceReset } from '../../src/stats/onset-since-reset.ts';
import type { TransitionData } from '../../src/stats/transition-data.ts';
import { fitTwoStateMarkov } from '../../src/stats/two-state-markov.ts';
import { errorsOf, expectAll, value } from './expect-close.ts';

const reference = JSON.parse(
  readFileSync(new URL('../reference/two-state-demo.json', import.meta.url), 'utf8'),
);
const rows: { horse: number[]; start: number[]; end: number[]; days: number[]; ground: number[] } =
  reference.data;
const terms = ['level', 'mixed', 'firm', 'rocky'];
const columns = (row: number) => [1, ...[2, 3, 4].map((ground) => (rows.ground[row] === ground ? 1 : 0))];
const all = rows.horse.map((_, row) => row);

const data: TransitionData = {
  start: rows.start,
  end: rows.end,
  time: rows.days,
  onset: Float64Array.from(all.flatMap(columns)),
  onsetTerms: terms,
  clearing: new Float64Array(all.length).fill(1),
  clearingTerms: ['clearing'],
  cluster: rows.horse,
};
const inYears = { ...data, time: rows.days.map((days) => days / 365.25) };

describe('the demo herd against R', () => {
  it('interval effect, exact form', () => {
    const { theta, loglik, se, robust_se } = reference.exact;
    const robust = value(fitOnsetSinceReset(data));
    expectAll(robust.theta, theta, 1e-5);
    expect(robust.logLikelihood).toBeCloseTo(loglik, 6);
    expectAll(errorsOf(robust), robust_se, 1e-5);
    expectAll(errorsOf(value(fitOnsetSinceReset(data, { covariance: 'model' }))), se, 1e-5);
  });

  it('interval effect, complementary log-log: glm and sandwich', () => {
    const clear = all.filter((row) => rows.start[row] === 0);
    const binary = {
      event: clear.map((row) => rows.end[row]!),
      x: Float64Array.from(clear.flatMap((row) => [...columns(row), Math.log(rows.days[row]! / 42)])),
      terms: [...terms, 'log days'],
      cluster: clear.map((row) => rows.horse[row]!),
    };
    const robust = value(fitBinary(binary));
    expectAll(robust.theta, reference.cloglog.coef, 1e-7);
    expectAll(errorsOf(robust), reference.cloglog.robust_se, 1e-6);
    expectAll(errorsOf(value(fitBinary(binary, { covariance: 'model' }))), reference.cloglog.se, 1e-6);
  });

  it('onset and clearing: msm, and the likelihood written out again', () => {
    const model = value(fitTwoStateMarkov(inYears, { covariance: 'model' }));
    expectAll(model.theta, reference.msm.estimates, 1e-5);
    expectAll(errorsOf(model), reference.msm.se, 1e-5);
    expect(-2 * model.logLikelihood).toBeCloseTo(reference.msm.minus2loglik, 6);
    const robust = value(fitTwoStateMarkov(inYears));
    expectAll(robust.theta, reference.markov.theta, 1e-6);
    expectAll(errorsOf(robust), reference.markov.robust_se, 1e-5);
  });
});
