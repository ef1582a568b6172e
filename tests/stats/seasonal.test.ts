import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { YEAR_DAYS } from '../../src/core/civil-day.ts';
import { isUnavailable } from '../../src/core/outcome.ts';
import { linearRegression } from '../../src/stats/linear-regression.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { meanWave, seasonalWave } from '../../src/stats/seasonal.ts';

const unit = (variance: number) => Float64Array.of(variance, 0, 0, variance);

describe('meanWave', () => {
  it('is the integral divided by its length', () => {
    const w = (2 * Math.PI) / YEAR_DAYS;
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 2000 }), fc.integer({ min: 7, max: 365 }), (t0, days) => {
        const { cosine, sine } = meanWave(t0, t0 + days);
        expect(cosine).toBeCloseTo((Math.sin(w * (t0 + days)) - Math.sin(w * t0)) / (w * days), 10);
        expect(sine).toBeCloseTo((Math.cos(w * t0) - Math.cos(w * (t0 + days))) / (w * days), 10);
      }),
    );
  });

  it('over a whole year is 0, over an instant the wave itself', () => {
    expect(meanWave(10, 10 + YEAR_DAYS).cosine).toBeCloseTo(0, 12);
    expect(meanWave(0, 0)).toEqual({ cosine: 1, sine: 0 });
    expect(meanWave(YEAR_DAYS / 4, YEAR_DAYS / 4).sine).toBeCloseTo(1, 12);
  });

  it('loses what a midpoint would keep: 4 % over eight weeks', () => {
    const { cosine, sine } = meanWave(100, 156);
    expect(1 - Math.hypot(cosine, sine)).toBeCloseTo(0.038, 3);
  });

  it('does not change when the calendar moves by four years, and rejects a reversed stretch', () => {
    const [now, then] = [meanWave(20_000, 20_050), meanWave(20_000 + 1461, 20_050 + 1461)];
    expect(then.cosine).toBeCloseTo(now.cosine, 10);
    expect(() => meanWave(5, 4)).toThrow('t1 must not lie before t0: 5, 4');
  });
});

describe('seasonalWave', () => {
  it('finds level 8, amplitude 2 and peak 7 of 8 + 2·cos(2π(m − 7)/12), m = 1 … 12', () => {
    const months = Array.from({ length: 12 }, (_, i) => i + 1);
    const random = seededRandom(1);
    const y = months.map((m) => 8 + 2 * Math.cos((2 * Math.PI * (m - 7)) / 12) + 1e-6 * random.normal());
    const x = months.flatMap((m) => [1, Math.cos((2 * Math.PI * m) / 12), Math.sin((2 * Math.PI * m) / 12)]);
    const line = linearRegression(Float64Array.from(x), Float64Array.from(y));
    if (isUnavailable(line)) throw new Error(line.sentence);
    const [, , , , vaa, vab, , , vbb] = line.covariance;
    const wave = seasonalWave(line.beta[1]!, line.beta[2]!, Float64Array.of(vaa!, vab!, vab!, vbb!), {
      period: 12,
    });
    expect(line.beta[0]).toBeCloseTo(8, 5);
    expect(wave.amplitude.estimate).toBeCloseTo(2, 5);
    expect(wave.peakDay.estimate).toBeCloseTo(7, 5);
    expect(wave.undetermined).toBe(false);
  });

  it('by hand: equal and uncorrelated errors give amplitude ± z·SE and the arcsine of z·SE/amplitude', () => {
    const wave = seasonalWave(0, 3, unit(0.25), { period: 360 });
    const reach = 1.959963984540054 * 0.5;
    expect(wave.amplitude.low).toBeCloseTo(3 - reach, 8);
    expect(wave.amplitude.high).toBeCloseTo(3 + reach, 8);
    expect(wave.amplitude.stdError).toBeCloseTo(0.5, 12);
    expect(wave.peakDay.estimate).toBeCloseTo(90, 10);
    const turn = (Math.asin(reach / 3) * 180) / Math.PI;
    expect(wave.peakDay.low).toBeCloseTo(90 - turn, 8);
    expect(wave.peakDay.high).toBeCloseTo(90 + turn, 8);
    expect(wave.peakDay.stdError).toBeCloseTo(((0.5 / 3) * 180) / Math.PI, 10);
  });

  it('says that any day may be the peak where no wave fits as well', () => {
    const wave = seasonalWave(0.4, 0.3, unit(0.25));
    expect(wave.undetermined).toBe(true);
    expect(wave.amplitude.low).toBe(0);
    expect(wave.amplitude.high).toBeGreaterThan(0.5);
    expect(wave.amplitude.stdError).toBeNull();
    expect(wave.peakDay.high - wave.peakDay.low).toBeCloseTo(YEAR_DAYS, 10);
  });

  it('scales with the unit and turns with the calendar', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -3, max: 3, noNaN: true }),
        fc.double({ min: -3, max: 3, noNaN: true }),
        fc.double({ min: 0.1, max: 50, noNaN: true }),
        (a, b, factor) => {
          const covariance = Float64Array.of(0.09, 0.02, 0.02, 0.04);
          const base = seasonalWave(a, b, covariance);
          const scaled = seasonalWave(
            a * factor,
            b * factor,
            covariance.map((v) => v * factor * factor),
          );
          expect(scaled.amplitude.low / factor).toBeCloseTo(base.amplitude.low, 6);
          expect(scaled.amplitude.high / factor).toBeCloseTo(base.amplitude.high, 6);
          expect(scaled.undetermined).toBe(base.undetermined);
          // A quarter of a year later: cosine → sine.
          const turned = seasonalWave(-b, a, Float64Array.of(0.04, -0.02, -0.02, 0.09));
          expect(turned.amplitude.high).toBeCloseTo(base.amplitude.high, 6);
          const moved = (turned.peakDay.estimate - base.peakDay.estimate + 2 * YEAR_DAYS) % YEAR_DAYS;
          if (Math.hypot(a, b) > 0.01) expect(moved).toBeCloseTo(YEAR_DAYS / 4, 5);
        },
      ),
      { numRuns: 40 },
    );
  });

  it('covers amplitude and peak near 0 and far from it', () => {
    const random = seededRandom(42);
    const l = [0.5, 0.2, 0.3]; // Cholesky factor of the errors
    const covariance = Float64Array.of(0.25, 0.1, 0.1, 0.13);
    for (const size of [0, 0.2, 0.5, 1, 1.5, 3]) {
      let [amplitude, peak] = [0, 0];
      const draws = 1500;
      for (let i = 0; i < draws; i++) {
        const angle = random.uniform() * 2 * Math.PI;
        const [u, v] = [random.normal(), random.normal()];
        const wave = seasonalWave(
          size * Math.cos(angle) + l[0]! * u,
          size * Math.sin(angle) + l[1]! * u + l[2]! * v,
          covariance,
          { period: 360 },
        );
        if (wave.amplitude.low <= size && size <= wave.amplitude.high) amplitude++;
        const true0 = (angle * 180) / Math.PI;
        if ([-720, -360, 0, 360].some((k) => wave.peakDay.low <= true0 + k && true0 + k <= wave.peakDay.high))
          peak++;
      }
      expect(amplitude / draws, `amplitude ${size}`).toBeGreaterThan(0.93);
      expect(amplitude / draws, `amplitude ${size}`).toBeLessThan(0.995);
      if (size > 0) expect(peak / draws, `peak ${size}`).toBeGreaterThan(0.93);
    }
  });

  it('rejects a covariance that is none', () => {
    expect(() => seasonalWave(1, 1, Float64Array.of(1, 2, 2, 1))).toThrow(
      /covariance must be 2 × 2 and positive definite/,
    );
    expect(() => seasonalWave(1, 1, unit(Number.NaN))).toThrow(/covariance/);
    expect(() => seasonalWave(1, 1, unit(1), { confidence: 95 })).toThrow(/confidence/);
  });
});
