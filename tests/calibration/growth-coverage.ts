import { YEAR_DAYS } from '../../src/core/civil-day.ts';
import { type Estimate, isUnavailable } from '../../src/core/outcome.ts';
import { clusterRate, unitRate } from '../../src/stats/nested-predict.ts';
import { varianceInterval } from '../../src/stats/nested-profile.ts';
import { fitNestedSlopes } from '../../src/stats/nested-slopes.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { meanWave, seasonalWave } from '../../src/stats/seasonal.ts';

/** How often 95 % intervals of the growth model held the truth. */
export interface Coverage {
  readonly quantity: string;
  readonly clusters: number;
  readonly herds: number;
  readonly truth: string;
  readonly meanEstimate: number | null;
  readonly covered: number;
}

const TRUTH = { level: 7.5, group: 1, cosine: 0.6, sine: -0.3, cluster: 0.9, unit: 0.4, error: 1.2 };
const AMPLITUDE = Math.hypot(TRUTH.cosine, TRUTH.sine);
const PEAK = (((Math.atan2(TRUTH.sine, TRUTH.cosine) / (2 * Math.PI)) * YEAR_DAYS) % YEAR_DAYS) + YEAR_DAYS;

/** Seeded herds of `clusters` animals with four units each, half in either group; the wave is integrated over each row. */
export function growthCoverage(clusters: number, rowsPerUnit: number, herds: number): Coverage[] {
  const tally = new Map<string, { covered: number; asked: number; sum: number; truth: number | null }>();
  const ask = (quantity: string, { estimate, low, high }: Estimate, truth: number, shown: number | null) => {
    const entry = tally.get(quantity) ?? { covered: 0, asked: 0, sum: 0, truth: shown };
    entry.asked++;
    entry.sum += estimate;
    if (low <= truth && truth <= high) entry.covered++;
    tally.set(quantity, entry);
  };
  for (let seed = 1; seed <= herds; seed++) {
    const { data, clusterRates, unitRates } = herd(seed, clusters, rowsPerUnit);
    const fit = fitNestedSlopes(data);
    if (isUnavailable(fit)) throw new Error(fit.sentence);
    const coefficient = (j: number): Estimate => ({
      estimate: fit.beta[j]!,
      stdError: fit.stdErrors[j]!,
      low: fit.low[j]!,
      high: fit.high[j]!,
    });
    ask('level', coefficient(0), TRUTH.level, TRUTH.level);
    ask('group difference', coefficient(1), TRUTH.group, TRUTH.group);
    const v = (i: number, j: number) => fit.covariance[i * 4 + j]!;
    const wave = seasonalWave(
      fit.beta[2]!,
      fit.beta[3]!,
      Float64Array.of(v(2, 2), v(2, 3), v(3, 2), v(3, 3)),
    );
    ask('seasonal amplitude', wave.amplitude, AMPLITUDE, AMPLITUDE);
    const turn = [-2, -1, 0, 1].find(
      (k) => wave.peakDay.low <= PEAK + k * YEAR_DAYS && PEAK + k * YEAR_DAYS <= wave.peakDay.high,
    );
    ask('peak day', wave.peakDay, turn === undefined ? Number.NaN : PEAK + turn * YEAR_DAYS, PEAK);
    for (const which of ['cluster', 'unit'] as const) {
      const interval = varianceInterval(data, fit, which);
      if (!isUnavailable(interval))
        ask(`variance of ${which}s`, interval, TRUTH[which] ** 2, TRUTH[which] ** 2);
    }
    clusterRates.forEach((rate, g) => {
      ask('own rate of a cluster', clusterRate(fit, g, Float64Array.of(1, g % 2, 0, 0)), rate, null);
    });
    unitRates.forEach((rate, u) => {
      ask('own rate of a unit', unitRate(fit, u, Float64Array.of(1, (u >> 2) % 2, 0, 0)), rate, null);
    });
  }
  return Array.from(tally, ([quantity, { covered, asked, sum, truth }]) => ({
    quantity,
    clusters,
    herds,
    truth: truth === null ? 'drawn' : String(Number(truth.toFixed(4))),
    meanEstimate: truth === null ? null : sum / asked,
    covered: covered / asked,
  }));
}

function herd(seed: number, clusters: number, rowsPerUnit: number) {
  const random = seededRandom(seed);
  const rows: number[][] = [];
  const [clusterRates, unitRates]: [number[], number[]] = [[], []];
  for (let g = 0; g < clusters; g++) {
    const own = TRUTH.level + TRUTH.group * (g % 2) + random.normal(0, TRUTH.cluster);
    clusterRates.push(own);
    for (let f = 0; f < 4; f++) {
      const rate = own + random.normal(0, TRUTH.unit);
      unitRates.push(rate);
      let day = random.integer(0, 365);
      for (let i = 0; i < rowsPerUnit; i++) {
        const days = random.integer(28, 84);
        const { cosine, sine } = meanWave(day, day + days);
        const mean = rate + TRUTH.cosine * cosine + TRUTH.sine * sine;
        rows.push([
          days,
          (days / 30) * mean + random.normal(0, TRUTH.error),
          g,
          4 * g + f,
          1,
          g % 2,
          cosine,
          sine,
        ]);
        day += days;
      }
    }
  }
  return {
    clusterRates,
    unitRates,
    data: {
      days: Float64Array.from(rows, (r) => r[0]!),
      y: Float64Array.from(rows, (r) => r[1]!),
      x: Float64Array.from(rows.flatMap((r) => r.slice(4))),
      cluster: Int32Array.from(rows, (r) => r[2]!),
      unit: Int32Array.from(rows, (r) => r[3]!),
    },
  };
}
