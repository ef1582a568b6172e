// How often the 95 % limits hold the truth, in simulated clusters: npx tsx tests/calibration/time-to-return.ts
import { isUnavailable } from '../../src/core/outcome.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { turnbullBands } from '../../src/stats/turnbull-bands.ts';
import { weibullInterval } from '../../src/stats/weibull-interval.ts';

const HERDS = Number(process.argv[2] ?? 200);
const SHAPE = 1.3;
const SPREAD = 0.5;
const DAYS = [30, 90, 240];

/** Clusters of 3 spans that share a normal factor of sd SPREAD on the log rate; half of the clusters at x = 1. */
function herd(seed: number, clusters: number, effect: number) {
  const random = seededRandom(seed);
  const left: number[] = [];
  const right: number[] = [];
  const x: number[] = [];
  const cluster: number[] = [];
  for (let g = 0; g < clusters; g += 1) {
    const shared = SPREAD * random.normal();
    const gap = random.integer(28, 60);
    for (let i = 0; i < 3; i += 1) {
      const rate = Math.exp(-SHAPE * Math.log(300) + effect * (g % 2) + shared);
      const time = (random.exponential() / rate) ** (1 / SHAPE);
      let l = 0;
      let r = Number.POSITIVE_INFINITY;
      for (let looks = 0; looks < 10 && r === Number.POSITIVE_INFINITY; looks += 1) {
        const next = l + gap + random.integer(-7, 14);
        if (time <= next) r = next;
        else l = next;
      }
      left.push(l);
      right.push(r);
      x.push(g % 2);
      cluster.push(g);
    }
  }
  return {
    left: Float64Array.from(left),
    right: Float64Array.from(right),
    x: Float64Array.from(x),
    cluster: Int32Array.from(cluster),
  };
}

/** Share by day t over the shared factor, by the trapezium rule. */
function trueShare(t: number): number {
  let sum = 0;
  for (let z = -7; z <= 7; z += 0.005) {
    const hazard = (t / 300) ** SHAPE * Math.exp(SPREAD * z);
    sum += (0.005 * (1 - Math.exp(-hazard)) * Math.exp((-z * z) / 2)) / Math.sqrt(2 * Math.PI);
  }
  return sum;
}

console.log(`share of ${HERDS} simulated herds whose 95 % limits hold the truth`);
console.log('clusters | share by day 30, 90, 240 (bands) | effect: clustered, by rows alone');
for (const clusters of [12, 40, 120]) {
  const held = DAYS.map(() => 0);
  const effect = { clustered: 0, rows: 0, fits: 0 };
  // The marginal effect under a shared factor is smaller than the conditional one; 0 is 0 in both.
  for (let seed = 1; seed <= HERDS; seed += 1) {
    const data = herd(seed * 1000 + clusters, clusters, 0);
    const bands = turnbullBands(data, data.cluster, { at: Float64Array.from(DAYS), replicates: 200, seed });
    if (isUnavailable(bands)) throw new Error(bands.sentence);
    bands.points.forEach(({ at, low, high }, k) => {
      if (low <= trueShare(at) && trueShare(at) <= high) held[k]! += 1;
    });
    const { left, right, x } = data;
    const clustered = weibullInterval({ ...data, terms: ['x'] });
    const rows = weibullInterval({ left, right, x, terms: ['x'] });
    if (isUnavailable(clustered) || isUnavailable(rows)) continue;
    effect.fits += 1;
    if (Math.abs(clustered.terms[0]!.logHazardRatio.estimate) <= reach(clustered.terms[0]!.logHazardRatio)) {
      effect.clustered += 1;
    }
    if (Math.abs(rows.terms[0]!.logHazardRatio.estimate) <= reach(rows.terms[0]!.logHazardRatio))
      effect.rows += 1;
  }
  const share = (count: number, of: number) => (count / of).toFixed(3);
  console.log(
    `${clusters} | ${held.map((h) => share(h, HERDS)).join(', ')} | ${share(effect.clustered, effect.fits)}, ${share(effect.rows, effect.fits)}`,
  );
}

function reach({ low, high }: { readonly low: number; readonly high: number }): number {
  return (high - low) / 2;
}
