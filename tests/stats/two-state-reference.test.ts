/** Against R: script, data, versions and results in tests/reference/two-state.{R,json}. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { fitBinary } from '../../src/stats/cloglog.ts';
import { fitOnsetSinceReset } from '../../src/stats/onset-since-reset.ts';
import { standardisedBinaryRisk, standardisedResetRisk } from '../../src/stats/standardise.ts';
import type { TransitionData } from '../../src/stats/transition-data.ts';
import { fitTwoStateMarkov, markovSummary } from '../../src/stats/two-state-markov.ts';
import { splitWithinBetween } from '../../src/stats/within-between.ts';
import { errorsOf, expectAll, value } from './expect-close.ts';

const reference = JSON.parse(readFileSync(new URL('../reference/two-state.json', import.meta.url), 'utf8'));
const rows: { id: number[]; start: number[]; end: number[]; days: number[]; group: number[]; wet: number[] } =
  reference.data;

const data: TransitionData = {
  start: rows.start,
  end: rows.end,
  time: rows.days,
  onset: Float64Array.from(rows.id.flatMap((_, i) => [1, rows.group[i]!, rows.wet[i]!])),
  onsetTerms: ['onset', 'group', 'wet'],
  clearing: Float64Array.from(rows.id.flatMap((_, i) => [1, rows.wet[i]!])),
  clearingTerms: ['clearing', 'clearing wet'],
  cluster: rows.id,
};
const inYears = { ...data, time: rows.days.map((days) => days / 365.25) };

/** Rows at risk, with log(days/42). */
const clear = rows.id.flatMap((_, i) => (rows.start[i] === 0 ? [i] : []));
const logTime = clear.map((i) => Math.log(rows.days[i]! / 42));
const atRisk = {
  event: clear.map((i) => rows.end[i]!),
  x: Float64Array.from(clear.flatMap((i, at) => [1, rows.group[i]!, rows.wet[i]!, logTime[at]!])),
  terms: ['level', 'group', 'wet', 'log time'],
  cluster: clear.map((i) => rows.id[i]!),
};

describe('two-state models against R', () => {
  it('onset since the reset: estimates, model and clustered standard errors', () => {
    const { theta, loglik, se, robust_se } = reference.exact;
    const robust = value(fitOnsetSinceReset(data));
    expectAll(robust.theta, theta, 1e-6);
    expect(robust.logLikelihood).toBeCloseTo(loglik, 7);
    expectAll(errorsOf(robust), robust_se, 1e-6);
    expectAll(errorsOf(value(fitOnsetSinceReset(data, { covariance: 'model' }))), se, 1e-6);
  });

  it('onset since the reset: standardised risk and its clustered standard error', () => {
    const { days, risk, se } = reference.exact.standardised;
    const pick = (values: Float64Array, columns: number) =>
      Float64Array.from(clear.flatMap((i) => [...values.subarray(i * columns, (i + 1) * columns)]));
    const mix = { onset: pick(data.onset, 3), clearing: pick(data.clearing, 2) };
    const curve = value(standardisedResetRisk(value(fitOnsetSinceReset(data)), mix, days));
    expectAll(
      curve.risk.map((r) => r.estimate),
      risk,
      1e-6,
    );
    expectAll(
      curve.risk.map((r) => r.stdError!),
      se,
      1e-6,
    );
  });

  it('Markov: an independent maximisation in R', () => {
    const { theta, loglik, se, robust_se } = reference.markov;
    const robust = value(fitTwoStateMarkov(inYears));
    expectAll(robust.theta, theta, 1e-7);
    expect(robust.logLikelihood).toBeCloseTo(loglik, 8);
    expectAll(errorsOf(robust), robust_se, 1e-6);
    expectAll(errorsOf(value(fitTwoStateMarkov(inYears, { covariance: 'model' }))), se, 1e-6);
  });

  it('Markov: msm with covariates, and its rates and mean spell for one set of them', () => {
    const { estimates, minus2loglik, se, at_group_1_wet_1: one } = reference.msm;
    const fit = value(fitTwoStateMarkov(inYears, { covariance: 'model' }));
    const [onset, group, wet, clearing, clearingWet] = fit.theta;
    const [sOnset, sGroup, sWet, sClearing, sClearingWet] = errorsOf(fit);
    expect(-2 * fit.logLikelihood).toBeCloseTo(minus2loglik, 7);
    // msm's optimiser stops on the change of the log-likelihood; its Hessian is by differences.
    expectAll([onset!, clearing!, group!, wet!, clearingWet!], estimates, 1e-5);
    expectAll([sOnset!, sClearing!, sGroup!, sWet!, sClearingWet!], se, 1e-5);
    const { onsetRate, meanSpell } = value(markovSummary(fit, [1, 1, 1], [1, 1]));
    expectAll(
      [onsetRate.estimate, onsetRate.low, onsetRate.high],
      [one.onset, one.onset_low, one.onset_high],
      1e-5,
    );
    expectAll(
      [meanSpell.estimate, meanSpell.low, meanSpell.high],
      [one.spell, one.spell_low, one.spell_high],
      1e-5,
    );
  });

  it.each(['cloglog', 'logit'] as const)('binary regression by glm, and sandwich clustered: %s', (link) => {
    const { coef, se, robust_se, deviance } = reference[link];
    const model = value(fitBinary(atRisk, { link, covariance: 'model' }));
    expectAll(model.theta, coef, 1e-8);
    expectAll(errorsOf(model), se, 1e-7);
    expect(-2 * model.logLikelihood).toBeCloseTo(deviance, 7);
    expectAll(errorsOf(value(fitBinary(atRisk, { link }))), robust_se, 1e-7);
  });

  it.each(['cloglog', 'logit'] as const)('standardised risk and its clustered standard error: %s', (link) => {
    const { days, risk, se } = reference[link].standardised;
    const fit = value(fitBinary(atRisk, { link }));
    const curve = value(standardisedBinaryRisk(fit, { x: atRisk.x, timeColumn: 3, referenceTime: 42 }, days));
    expectAll(
      curve.risk.map((r) => r.estimate),
      risk,
      1e-8,
    );
    expectAll(
      curve.risk.map((r) => r.stdError!),
      se,
      1e-7,
    );
  });

  it('each log time against the mean of its own cluster', () => {
    const split = value(splitWithinBetween(logTime, atRisk.cluster));
    const x = Float64Array.from(logTime.flatMap((_, i) => [1, split.between[i]!, split.within[i]!]));
    const fit = value(fitBinary({ ...atRisk, x, terms: ['level', 'between', 'within'] }));
    expectAll(fit.theta, reference.within_between.coef, 1e-8);
  });
});
