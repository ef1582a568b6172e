import { describe, expect, it } from 'vitest';
import { isUnavailable, type Outcome } from '../../src/core/outcome.ts';
import { changeScan } from '../../src/stats/change-scan.ts';
import { countLimits, cusumLimit, cusumNullRuns, cusumPath, nullRuns } from '../../src/stats/cusum.ts';
import { normalQuantile } from '../../src/stats/distributions.ts';
import { factorRisk } from '../../src/stats/factor-risk.ts';
import { betweenUnits, funnelLimits, LEAST_WORTH, observedOverExpected } from '../../src/stats/funnel.ts';
import {
  dispersedInterval,
  dispersionOf,
  poissonCdf,
  poissonInterval,
  poissonLimit,
  poissonQuantile,
} from '../../src/stats/poisson.ts';
import { seededRandom } from '../../src/stats/random.ts';
import reference from '../reference/audit-and-trends.json' with { type: 'json' };

function known<T>(outcome: Outcome<T>): T {
  if (isUnavailable(outcome)) throw new Error(outcome.sentence);
  return outcome;
}

/** Tolerance 1e-8: both sides are closed forms or solved to machine precision. */
const near = (got: number, wanted: number, tolerance = 1e-8): void =>
  expect(Math.abs(got - wanted), `${got} against ${wanted}`).toBeLessThan(
    tolerance * Math.max(1, Math.abs(wanted)),
  );

describe('Poisson limits and intervals', () => {
  it('are those of R 4.2.2 (qpois, ppois, qchisq)', () => {
    reference.means.forEach((mean, i) => {
      reference.tails.forEach((tail, j) => {
        near(poissonLimit(tail, mean), reference.limits[i]![j]!, 1e-7);
      });
    });
    [0, 1, 4.5, 20].forEach((count, i) => {
      const { low, high } = poissonInterval(count);
      near(low, reference.garwood[i]![0]!);
      near(high, reference.garwood[i]![1]!);
    });
  });

  it('can be worked by hand at a mean of 1', () => {
    // e⁻¹ = .367879; P(X ≤ 1) = .735759, P(X ≤ 2) = .919699: .8 lies between, .119699/.183940 = .650748 below 2.
    near(poissonCdf(0, 1), Math.exp(-1));
    expect(poissonQuantile(0.8, 1)).toBe(2);
    near(poissonLimit(0.8, 1), 2 - (2.5 * Math.exp(-1) - 0.8) / (0.5 * Math.exp(-1)), 1e-9);
  });

  it('widen a count of 20 that varies twice as much as chance to twice the interval of 10', () => {
    const [wide, ten] = [dispersedInterval(20, 2), poissonInterval(10)];
    near(wide.low, 2 * ten.low);
    near(wide.high, 2 * ten.high);
  });

  it('find the dispersion of groups, and never less than chance', () => {
    // Squares 4 + 1 + 9 = 14 over 12 expected, 3 groups, 1 figure fitted: 14/12 · 3/2.
    near(dispersionOf([6, 3, 3], [4, 2, 6], 1), (14 / 12) * 1.5);
    expect(dispersionOf([4, 2, 6], [4, 2, 6])).toBe(1);
  });
});

describe('funnel limits', () => {
  const { observed, expected, dispersion, factor, plain, tau2 } = reference.units;

  it('give the winsorised factor and tau² of R, and metafor’s tau² beside it', () => {
    near(betweenUnits({ observed, expected, dispersion }).factor, factor);
    const without = betweenUnits({ observed, expected, dispersion }, 0);
    near(without.factor, plain);
    near(without.tau ** 2, tau2);
    // metafor centres on the pooled mean, this on the target of 1: close, not alike.
    expect(Math.abs(tau2 - reference.units.dl)).toBeLessThan(0.1 * tau2);
  });

  it('say that units differ only where chance alone would hardly show as much, by hand', () => {
    // z = 2(√O − 5): ±0.2 twice, of which Σz² = 0.16, far under χ²(0.95; 4) = 9.49, though tau may be above 0 elsewhere.
    const even = betweenUnits({
      observed: [26.01, 24.01, 26.01, 24.01],
      expected: [25, 25, 25, 25],
      dispersion: 1,
    });
    expect(even).toMatchObject({ tau: 0, isBeyondChance: false });
    // z = ±1.2: Σz² = 5.76 on 4 units of which tau² = (5.76 − 3)/(400 − 100), and chance shows as much often.
    const some = betweenUnits({
      observed: [31.36, 19.36, 31.36, 19.36],
      expected: [25, 25, 25, 25],
      dispersion: 1,
    });
    near(some.tau ** 2, 2.76 / 300);
    expect(some.isBeyondChance).toBe(false);
    // z = ±4: Σz² = 64.
    const far = betweenUnits({ observed: [49, 9, 49, 9], expected: [25, 25, 25, 25], dispersion: 1 });
    expect(far.isBeyondChance).toBe(true);
  });

  it('are those of the events a unit is worth, and wider where units differ', () => {
    const none = { factor: 1, tau: 0, nUnits: 9, isBeyondChance: false };
    const at = funnelLimits(24.8, 0.95, 'none', 2, none);
    near(at.low, reference.limits[2]![1]! / 12.4, 1e-7);
    near(at.high, reference.limits[2]![2]! / 12.4, 1e-7);
    expect(funnelLimits(24.8, 0.95, 'multiplicative', 1, { ...none, factor: 2 })).toEqual(at);
    const apart = funnelLimits(25, 0.95, 'additive', 1, { ...none, tau: 0.1 });
    // √(1/100 + 1/100) = .141421; 1.959964 times that is .277181.
    near(apart.low, (1 - 0.2771807) ** 2, 1e-6);
    near(apart.high, (1 + 0.2771807) ** 2, 1e-6);
  });

  it('hold even none at all where hardly anything is expected', () => {
    const none = { factor: 1, tau: 0, nUnits: 9, isBeyondChance: false };
    expect(funnelLimits(LEAST_WORTH - 0.01, 0.95, 'none', 1, none).low).toBe(0);
    expect(funnelLimits(LEAST_WORTH + 0.01, 0.95, 'none', 1, none).low).toBeGreaterThan(0);
  });
});

describe('observed over expected', () => {
  it('is Garwood’s interval over the expected number where that is known', () => {
    const { estimate, low, high } = observedOverExpected(20, 10, 1, 0);
    expect(estimate).toBe(2);
    near(low, reference.garwood[3]![0]! / 10);
    near(high, reference.garwood[3]![1]! / 10);
    const none = observedOverExpected(0, 10, 1, 0);
    expect([none.estimate, none.low]).toEqual([0, 0]);
    near(none.high, reference.garwood[0]![1]! / 10);
  });

  it('has the limits of the dispersed count where that is worth less than half a case', () => {
    // 1 of variance 4 times its mean is worth a quarter; nothing is unsure of the 10 expected.
    const { low, high } = observedOverExpected(1, 10, 4, 0);
    const count = dispersedInterval(1, 4);
    near(low, count.low / 10);
    near(high, count.high / 10);
  });

  it('is wider by as much as the expected number is unsure', () => {
    // The expected number with an error of 10 %: log limits √(log(20/12.21652)² + .1959964²) below.
    const { low, high } = observedOverExpected(20, 10, 1, 1);
    near(low, 2 * Math.exp(-Math.hypot(Math.log(20 / 12.216519585404), 0.1959964)), 1e-6);
    near(high, 2 * Math.exp(Math.hypot(Math.log(30.888377902675 / 20), 0.1959964)), 1e-6);
  });
});

describe('risk by factors', () => {
  const { ground, wet, days, unit, y } = reference.trials;
  const rows = (keep: (row: number) => boolean) => ({
    trials: Float64Array.from(y, (_, row) => (keep(row) ? 1 : 0)),
    events: Float64Array.from(y, (value, row) => (keep(row) ? value : 0)),
    factors: [
      { codes: ground, levels: 3 },
      { codes: wet, levels: 2 },
    ],
    covariates: [days.map((d) => Math.log(d / 42))],
  });
  const expectedOf = (risk: Float64Array, u: number): number =>
    risk.reduce((sum, p, row) => sum + (unit[row] === u ? p : 0), 0);

  it('has a variance where a pattern it was not fitted to has a risk of 1 to the last digit', () => {
    // Risks rise from 0.2 to 0.8 over one unit of the covariate; the last pattern lies 20 further on.
    const fit = known(
      factorRisk({
        trials: Float64Array.of(10, 10, 0),
        events: Float64Array.of(2, 8, 0),
        factors: [],
        covariates: [[0, 1, 20]],
      }),
    );
    expect(fit.risk[2]).toBe(1);
    // All of it comes from the first two: 10 · 0.2 · 0.8 each, fitted exactly.
    near(fit.expectedAmong([10, 10, 0]).variance, 3.2, 1e-6);
    near(fit.expectedAmong([10, 10, 5]).expected, 15, 1e-6);
    near(fit.expectedAmong([10, 10, 5]).variance, 3.2, 1e-6);
  });

  it('expects what R’s glm does, with all units and with each left out', () => {
    const all = known(factorRisk(rows(() => true)));
    for (let u = 0; u < 6; u += 1) {
      near(expectedOf(all.risk, u), reference.expectedAll[u]!, 1e-7);
      const without = known(factorRisk(rows((row) => unit[row] !== u)));
      near(expectedOf(without.risk, u), reference.expectedWithout[u]!, 1e-7);
      const { expected, variance } = without.expectedAmong(unit.map((id) => (id === u ? 1 : 0)));
      near(expected, reference.expectedWithout[u]!, 1e-7);
      near(variance, reference.varianceWithout[u]!, 1e-6);
    }
  });

  it('is the plain share of each level where there is one factor', () => {
    // 2 of 8 on the first ground, 3 of 6 on the second; the third had none and is not known.
    const fit = known(
      factorRisk({
        trials: Float64Array.of(8, 6, 5),
        events: Float64Array.of(2, 3, 0),
        factors: [{ codes: [0, 1, 2], levels: 3 }],
        covariates: [],
      }),
    );
    near(fit.risk[0]!, 0.25);
    near(fit.risk[1]!, 0.5);
    expect(fit.risk[2]).toBeNaN();
  });

  it('says why it cannot', () => {
    const one = (trials: number, events: number) =>
      factorRisk({
        trials: Float64Array.of(trials),
        events: Float64Array.of(events),
        factors: [],
        covariates: [],
      });
    expect(one(0, 0)).toMatchObject({ unavailable: 'no-rows' });
    expect(one(5, 0)).toMatchObject({ unavailable: 'no-events' });
    expect(one(5, 5)).toMatchObject({ unavailable: 'all-events' });
  });
});

describe('the cumulative sum', () => {
  it('can be worked by hand', () => {
    // Ratio 2, 1 expected a month: each count adds .693147, each month takes 1.
    const { path, passed } = cusumPath([0, 3, 2, 0], [1, 1, 1, 1], 2, 1.4);
    near(path[1]!, 3 * Math.LN2 - 1);
    near(path[2]!, 5 * Math.LN2 - 2);
    expect([path[0], path[3]]).toEqual([0, 0]);
    expect(Array.from(passed)).toEqual([0, 0, 1, 0]);
  });

  // Run lengths are about exponential: the mean of 4,000 has a standard error of 1.6 %; 6 % is nearly four of them.
  it('waits as long for a false alarm as a Markov chain in R says (Brook & Evans 1972)', () => {
    for (const { mean, ratio, limit, runLength } of reference.runs) {
      const runs = cusumNullRuns([mean], ratio, { runs: 4000, horizon: 500, seed: 7 });
      near(runs.runLength(limit), runLength, 0.06);
    }
  });

  it('waits as long as tables say for normal values: 335 at k = 0.5, h = 4 (from memory; R’s chain 335.36)', () => {
    near(reference.normal.h4, 335.4, 0.001);
    near(reference.normal.h5, 930, 0.002);
    const runs = nullRuns((before, _, u) => Math.max(0, before + normalQuantile(u() || 1e-12) - 0.5), {
      runs: 3000,
      horizon: 800,
      seed: 3,
    });
    near(runs.runLength(4), reference.normal.h4, 0.06);
  });

  it('finds the limit for a rate of false alarms, the same for the same seed', () => {
    const runs = cusumNullRuns([3, 5, 2], 1.5, { seed: 5 });
    const { limit, runLength } = runs.limitFor(60);
    expect(runLength).toBeGreaterThanOrEqual(60);
    expect(runs.runLength(limit - 0.02)).toBeLessThan(60);
    expect(cusumNullRuns([3, 5, 2], 1.5, { seed: 5 }).limitFor(60)).toEqual({ limit, runLength });
  });

  it('has a limit that chance passes as often as asked, more often the less sure the level is', () => {
    const twelve = new Array<number>(12).fill(6);
    const known = cusumLimit(twelve, 1.5, 60);
    // 1 − e^(−12/60) = .181; 2,000 runs give it to .002, but sums come in steps, so it falls a little short.
    near(known.share, 0.181, 0.03);
    near(known.steps, 60, 0.1);
    const vague = cusumLimit(twelve, 1.5, 60, { levelError: 0.15 });
    expect(vague.limit).toBeGreaterThan(known.limit);
    near(vague.share, 0.181, 0.03);
    // Against runs of the chart itself: within 12 months as often.
    const fresh = cusumLimit(twelve, 1.5, 60, { seed: 2 });
    expect(Math.abs(fresh.limit - known.limit)).toBeLessThan(0.25);
    expect(cusumLimit([900, 900], 1.5, 60).limit).toBeGreaterThanOrEqual(0);
  });

  it('counts exactly how often one month falls outside its limits', () => {
    const { low, high, falseAlarm } = countLimits(12.4, 0.998, 1);
    near(low, reference.limits[2]![0]!, 1e-7);
    near(high, reference.limits[2]![3]!, 1e-7);
    near(falseAlarm, 1 - poissonCdf(24, 12.4) + poissonCdf(2, 12.4));
  });
});

describe('the scan for a change', () => {
  const { rows, gain, best, ratio, logError } = reference.scan;
  const data = {
    cluster: Int32Array.from(rows.cluster),
    month: Int32Array.from(rows.month),
    observed: Float64Array.from(rows.o),
    expected: Float64Array.from(rows.e),
    months: 20,
  };

  it('gains at each month what two levels gain over one in R’s glm, and errs as sandwich says', () => {
    const scan = known(changeScan(data));
    gain.forEach((value, i) => {
      near(scan.gain[i + 3]!, value, 1e-6);
    });
    expect(scan.month).toBe(best);
    near(scan.ratio.estimate, ratio);
    near(Math.log(scan.ratio.high / scan.ratio.estimate) / 2.144787, logError, 1e-5);
    expect(scan.p).toBeLessThan(0.05);
  });

  it('can be worked by hand', () => {
    // 4 expected on each side of month 2, 2 seen before and 6 after, 1 a month expected of 5 horses.
    const hand = {
      cluster: Int32Array.from({ length: 20 }, (_, i) => i % 5),
      month: Int32Array.from({ length: 20 }, (_, i) => Math.floor(i / 5)),
      observed: Float64Array.from([1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 1, 1, 0, 0, 1, 1, 1, 0, 0]),
      expected: new Float64Array(20).fill(0.4),
      months: 4,
    };
    const scan = known(changeScan(hand, { fewest: 2 }));
    expect(scan.month).toBe(2);
    near(scan.gain[2]!, 2 * (2 * Math.log(2 / 4) + 6 * Math.log(6 / 4)));
    near(scan.ratio.estimate, 3);
  });

  it('finds as much in about as many records as it says where nothing changed', () => {
    const random = seededRandom(11);
    let found = 0;
    const herds = 60;
    for (let herd = 0; herd < herds; herd += 1) {
      // Horses differ, and each horse's cases come in twos: plain Poisson limits would cry far too often.
      const observed = data.expected.map((e) => (random.uniform() < 1 - Math.exp(-e / 2) ? 2 : 0));
      const scan = known(changeScan({ ...data, observed }, { draws: 99, seed: herd }));
      if (scan.p <= 0.1) found += 1;
    }
    // 6 are expected of 60; 0 to 13 holds with 99.6 % (binomial).
    expect(found).toBeLessThanOrEqual(13);
  });

  it('says why it cannot', () => {
    expect(changeScan({ ...data, months: 5 })).toMatchObject({ unavailable: 'no-rows' });
    expect(changeScan({ ...data, observed: new Float64Array(300) })).toMatchObject({
      unavailable: 'no-events',
    });
    expect(changeScan({ ...data, cluster: data.cluster.map((c) => c % 3) })).toMatchObject({
      unavailable: 'one-cluster',
      sentence: 'there are too few groups of records to tell a change from chance.',
    });
  });
});
