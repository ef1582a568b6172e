import { describe, expect, it } from 'vitest';
import { fitBinary } from '../../src/stats/cloglog.ts';
import { fitOnsetSinceReset } from '../../src/stats/onset-since-reset.ts';
import { errorOf } from '../../src/stats/predictor-fit.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { resetProbabilities } from '../../src/stats/reset-kernel.ts';
import { riskContrast, standardisedBinaryRisk, standardisedResetRisk } from '../../src/stats/standardise.ts';
import { expectAll, expectReason, value } from './expect-close.ts';
import { simulateTransitions, TRUTH } from './simulate-transitions.ts';

const data = simulateTransitions(seededRandom(31), { ...TRUTH, clusters: 60 });
const fit = value(fitOnsetSinceReset(data));
const TIMES = [21, 42, 63, 84];

/** `ones` rows of the group beside `zeros` of the other. */
function mixOf(zeros: number, ones: number) {
  const rows = [...new Array(zeros).fill(0), ...new Array(ones).fill(1)] as number[];
  return {
    onset: Float64Array.from(rows.flatMap((group) => [1, group])),
    clearing: new Float64Array(rows.length).fill(1),
  };
}

describe('standardisedResetRisk', () => {
  it('averages the risks of the mix: worked by hand', () => {
    const curve = value(standardisedResetRisk(fit, mixOf(3, 1), TIMES));
    const [level, group, clearing, exponent] = fit.theta;
    const p = (g: number, days: number) =>
      resetProbabilities([level! + group! * g, clearing!, exponent!], days, 42, 365.25).p01;
    expectAll(
      curve.risk.map((r) => r.estimate),
      TIMES.map((days) => (3 * p(0, days) + p(1, days)) / 4),
      1e-12,
    );
    expect(curve.nRows).toBe(4);
    expect(curve.shareLeftOut).toBe(0);
  });

  it('has a band that the spread of parameter draws confirms', () => {
    // Delta method against 4,000 draws from the normal law of the parameters.
    const curve = value(standardisedResetRisk(fit, mixOf(1, 0), [63]));
    const q = 4;
    const lower = choleskyOf(fit.covariance, q);
    const random = seededRandom(8);
    const draws = Array.from({ length: 4000 }, () => {
      const z = Array.from({ length: q }, () => random.normal());
      const theta = fit.theta.map(
        (t, i) => t + z.reduce((sum, value, j) => sum + lower[i * q + j]! * value, 0),
      );
      return resetProbabilities([theta[0]!, theta[2]!, theta[3]!], 63, 42, 365.25).p01;
    }).sort((a, b) => a - b);
    const mean = draws.reduce((a, b) => a + b, 0) / draws.length;
    const sd = Math.sqrt(draws.reduce((sum, d) => sum + (d - mean) ** 2, 0) / draws.length);
    const [risk] = curve.risk;
    expect(Math.abs(risk!.stdError! / sd - 1)).toBeLessThan(0.05);
    expect(Math.abs(risk!.low - draws[100]!)).toBeLessThan(0.3 * sd);
    expect(Math.abs(risk!.high - draws[3900]!)).toBeLessThan(0.3 * sd);
  });

  it('gives the same for alike rows counted by weight, in any order', () => {
    const rows = value(standardisedResetRisk(fit, mixOf(3, 1), TIMES));
    const weighted = value(
      standardisedResetRisk(
        fit,
        { onset: Float64Array.of(1, 1, 1, 0), clearing: Float64Array.of(1, 1), weight: [1, 3] },
        TIMES,
      ),
    );
    expectAll(
      weighted.risk.map((r) => r.high),
      rows.risk.map((r) => r.high),
      1e-12,
    );
    expectAll(weighted.covariance, rows.covariance, 1e-10);
  });

  it('gives the chance of still being in state 1 from a start in 1', () => {
    const curve = value(standardisedResetRisk(fit, { ...mixOf(1, 0), from: 1 }, [42]));
    const { p11 } = resetProbabilities([fit.theta[0]!, fit.theta[2]!, fit.theta[3]!], 42, 42, 365.25);
    expect(curve.risk[0]!.estimate).toBeCloseTo(p11, 12);
  });

  it('keeps the truth within its bands, and its bands within 0 and 1', () => {
    const curve = value(standardisedResetRisk(fit, mixOf(1, 0), TIMES));
    curve.risk.forEach(({ low, high }, i) => {
      const truth = resetProbabilities([TRUTH.level, Math.log(4), Math.log(1.6)], TIMES[i]!, 42, 365.25).p01;
      // One herd: three times the half-width of its 95 % band.
      expect(truth).toBeGreaterThan(low - (high - low));
      expect(truth).toBeLessThan(high + (high - low));
      expect(low).toBeGreaterThan(0);
      expect(high).toBeLessThan(1);
    });
  });

  it('leaves out, and says how many, rows of a group that has no events', () => {
    const rows = Array.from(data.cluster, (_, row) => row).filter(
      (row) => data.onset[2 * row + 1] === 0 || (data.start[row] === 0 && data.end[row] === 0),
    );
    const pick = (values: ArrayLike<number>) => Float64Array.from(rows, (row) => values[row]!);
    const quiet = value(
      fitOnsetSinceReset({
        ...data,
        start: pick(data.start),
        end: pick(data.end),
        time: pick(data.time),
        cluster: pick(data.cluster),
        clearing: new Float64Array(rows.length).fill(1),
        onset: Float64Array.from(rows.flatMap((row) => [1, data.onset[2 * row + 1]!])),
      }),
    );
    const curve = value(standardisedResetRisk(quiet, mixOf(3, 1), TIMES));
    expect(curve.shareLeftOut).toBe(0.25);
    const alone = value(standardisedResetRisk(quiet, mixOf(1, 0), TIMES));
    expect(curve.risk).toEqual(alone.risk);
    expectReason(standardisedResetRisk(quiet, mixOf(0, 2), TIMES), 'no-events');
    expectReason(standardisedResetRisk(quiet, mixOf(0, 0), TIMES), 'no-rows');
  });

  it('throws on a time that is not above 0', () => {
    expect(() => standardisedResetRisk(fit, mixOf(1, 1), [0])).toThrow('times must be above 0: 0');
  });
});

describe('standardisedBinaryRisk', () => {
  const event = [0, 0, 1, 0, 1, 1, 0, 1, 0, 1, 1, 0];
  const time = [20, 30, 40, 25, 60, 50, 70, 80, 35, 45, 65, 55];
  const cluster = event.map((_, i) => i % 4);
  const logTime = time.map((t) => Math.log(t / 42));
  const x = Float64Array.from(logTime.flatMap((t) => [1, t]));
  const binary = value(fitBinary({ event, x, terms: ['level', 'log time'], cluster }));

  it('is the regression itself where nothing but time enters', () => {
    const curve = value(standardisedBinaryRisk(binary, { x, timeColumn: 1, referenceTime: 42 }, [42]));
    const h = Math.exp(binary.theta[0]!);
    expect(curve.risk[0]!.estimate).toBeCloseTo(1 - Math.exp(-h), 12);
    // At the reference the interval is that of the intercept, carried over.
    const { stdError, multiplier } = value(errorOf(binary, Float64Array.of(1, 0)));
    const half = multiplier * stdError;
    expect(curve.risk[0]!.low).toBeCloseTo(1 - Math.exp(-h * Math.exp(-half)), 10);
    expect(curve.risk[0]!.high).toBeCloseTo(1 - Math.exp(-h * Math.exp(half)), 10);
  });

  it('takes time against the mean of the cluster where it was split', () => {
    const mean = cluster.map((g) => 0.1 * g);
    const split = Float64Array.from(logTime.flatMap((t, i) => [1, mean[i]!, t - mean[i]!]));
    const terms = ['level', 'between', 'within'];
    const parts = value(fitBinary({ event, x: split, terms, cluster }));
    const curve = value(
      standardisedBinaryRisk(parts, { x: split, timeColumn: 2, referenceTime: 42, offset: mean }, [56]),
    );
    const [a, b, w] = parts.theta;
    const risks = mean.map((m) => 1 - Math.exp(-Math.exp(a! + b! * m + w! * (Math.log(56 / 42) - m))));
    expect(curve.risk[0]!.estimate).toBeCloseTo(risks.reduce((s, r) => s + r, 0) / risks.length, 12);
  });
});

describe('riskContrast', () => {
  const curve = value(standardisedResetRisk(fit, mixOf(1, 1), TIMES));

  it('takes the covariance of the two risks into account: worked by hand', () => {
    const { difference, ratio } = riskContrast(curve, 2, 1);
    const [, a, b] = curve.risk;
    expect(difference.estimate).toBeCloseTo(b!.estimate - a!.estimate, 14);
    expect(ratio.estimate).toBeCloseTo(b!.estimate / a!.estimate, 14);
    const variance = curve.covariance[5]! + curve.covariance[10]! - 2 * curve.covariance[6]!;
    expect(difference.stdError).toBeCloseTo(Math.sqrt(variance), 14);
    // The risks move together, so the difference is known better than if they did not.
    expect(difference.stdError!).toBeLessThan(Math.hypot(a!.stdError!, b!.stdError!));
    expect(ratio.low).toBeGreaterThan(1);
  });

  it('of a time with itself is 0, or 1, without error', () => {
    const { difference, ratio } = riskContrast(curve, 1, 1);
    expect([difference.estimate, difference.low, difference.high, ratio.estimate]).toEqual([0, 0, 0, 1]);
  });

  it('throws on a position outside the curve', () => {
    expect(() => riskContrast(curve, 4, 0)).toThrow('positions must lie below 4: 4, 0');
  });
});

function choleskyOf(a: Float64Array, q: number): Float64Array {
  const lower = new Float64Array(q * q);
  for (let i = 0; i < q; i += 1) {
    for (let j = 0; j <= i; j += 1) {
      let sum = a[i * q + j]!;
      for (let k = 0; k < j; k += 1) sum -= lower[i * q + k]! * lower[j * q + k]!;
      lower[i * q + j] = i === j ? Math.sqrt(sum) : sum / lower[j * q + j]!;
    }
  }
  return lower;
}
