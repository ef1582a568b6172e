import { describe, expect, it } from 'vitest';
import { isUnavailable, type Outcome } from '../../src/core/outcome.ts';
import type { IntervalData } from '../../src/stats/interval-data.ts';
import { seededRandom } from '../../src/stats/random.ts';
import {
  beginBands,
  drawBands,
  turnbullBandSteps,
  turnbullBands,
  widened,
  withoutBand,
} from '../../src/stats/turnbull-bands.ts';
import { shareLimit } from '../../src/stats/turnbull-limits.ts';
import { replicateSteps } from '../../src/stats/turnbull-replicates.ts';

const I = Number.POSITIVE_INFINITY;
const AT = Float64Array.from([0, 20, 60, 90, 120, 240, 400]);

function computed<T>(outcome: Outcome<T>): T {
  if (isUnavailable(outcome)) throw new Error(`expected an estimate: ${outcome.unavailable}`);
  return outcome;
}

interface Herd extends IntervalData {
  readonly cluster: Int32Array;
}

/** Times of mean 300 shared in part within a cluster (a normal factor of sd 0.5 on the log rate), looks 30–70 apart. */
function simulate(seed: number, clusters = 40, each = 3): Herd {
  const random = seededRandom(seed);
  const left: number[] = [];
  const right: number[] = [];
  const cluster: number[] = [];
  for (let g = 0; g < clusters; g += 1) {
    const rate = Math.exp(0.5 * random.normal()) / 300;
    for (let i = 0; i < each; i += 1) {
      const time = random.exponential(rate);
      let l = 0;
      let r = I;
      for (let looks = 0; looks < 8 && r === I; looks += 1) {
        const next = l + random.integer(30, 70);
        if (time <= next) r = next;
        else l = next;
      }
      left.push(l);
      right.push(r);
      cluster.push(g);
    }
  }
  return {
    left: Float64Array.from(left),
    right: Float64Array.from(right),
    cluster: Int32Array.from(cluster),
  };
}

function reorder({ left, right, cluster }: Herd, order: readonly number[], relabel = (c: number) => c): Herd {
  return {
    left: Float64Array.from(order, (i) => left[i]!),
    right: Float64Array.from(order, (i) => right[i]!),
    cluster: Int32Array.from(order, (i) => relabel(cluster[i]!)),
  };
}

const bands = (herd: Herd, options = {}) =>
  computed(
    turnbullBands(herd, herd.cluster, {
      at: AT,
      quantiles: [0.25, 0.5],
      replicates: 120,
      seed: 5,
      ...options,
    }),
  );

describe('cluster-bootstrap bands', () => {
  const herd = simulate(1);
  const result = bands(herd);

  it('hold the bounds of the estimate and stay between 0 and 1', () => {
    expect(result).toMatchObject({ nClusters: 40, replicates: 120, unsettled: 0 });
    for (const { estimate, low, high } of result.points) {
      expect(low).toBeLessThanOrEqual(estimate.low);
      expect(high).toBeGreaterThanOrEqual(estimate.high);
      expect(low).toBeGreaterThanOrEqual(0);
      expect(high).toBeLessThanOrEqual(1);
    }
    const middle = result.points[3]!;
    expect(middle.high - middle.low).toBeGreaterThan(0.05);
    expect(middle.high - middle.low).toBeLessThan(0.5);
    for (const { estimate, low, high } of result.quantiles) {
      expect(low).toBeLessThanOrEqual(estimate.low);
      expect(high).toBeGreaterThanOrEqual(estimate.high);
    }
  });

  it('repeat with the seed and change with another', () => {
    expect(bands(herd).points).toEqual(result.points);
    expect(bands(herd, { seed: 6 }).points).not.toEqual(result.points);
  });

  it('draw the same replicates in stretches, in any order, as in one go', () => {
    const begun = computed(
      beginBands(herd, herd.cluster, { at: AT, quantiles: [0.25, 0.5], replicates: 120, seed: 5 }),
    );
    const stretch = (from: number, to: number) => {
      const steps = replicateSteps(begun.task, from, to);
      for (;;) {
        const step = steps.next();
        if (step.done) return step.value;
      }
    };
    const drawn = drawBands(begun, [stretch(70, 120), stretch(0, 1), stretch(1, 70)]);
    expect(drawn.limits.length).toBeGreaterThan(0);
    expect(widened(drawn, drawn.limits.map(shareLimit))).toEqual(result);
  });

  it('show the estimate alone, the same as with its band, while they are drawn', () => {
    const begun = computed(beginBands(herd, herd.cluster, { at: AT, quantiles: [0.25, 0.5], seed: 5 }));
    const alone = withoutBand(begun);
    expect(alone.points.map(({ at, estimate }) => ({ at, estimate }))).toEqual(
      result.points.map(({ at, estimate }) => ({ at, estimate })),
    );
    expect(alone.quantiles.map(({ estimate }) => estimate)).toEqual(
      result.quantiles.map(({ estimate }) => estimate),
    );
    expect(alone.points.every(({ low, high }) => Number.isNaN(low) && Number.isNaN(high))).toBe(true);
    expect(alone).toMatchObject({ nClusters: 40, replicates: 0 });
  });

  it('do not depend on row order or on names that sort alike', () => {
    const order = seededRandom(2).shuffle(Array.from(herd.left.keys()));
    const moved = bands(reorder(herd, order, (c) => 5 * c + 100));
    moved.points.forEach((point, k) => {
      expect(point.low).toBeCloseTo(result.points[k]!.low, 3);
      expect(point.high).toBeCloseTo(result.points[k]!.high, 3);
    });
  });

  it('scale with the unit of time', () => {
    const weeks: Herd = { ...herd, left: herd.left.map((t) => t / 7), right: herd.right.map((t) => t / 7) };
    const scaled = bands(weeks, { at: AT.map((t) => t / 7) });
    expect(scaled.points[3]!.low).toBeCloseTo(result.points[3]!.low, 3);
    expect(scaled.quantiles[0]!.low * 7).toBeCloseTo(result.quantiles[0]!.low, 6);
  });

  it('stay as wide when each cluster repeats its own rows, and shrink with twice the clusters', () => {
    const rows = Array.from(herd.left.keys());
    const same = bands(reorder(herd, [...rows, ...rows]));
    const width = (b: typeof result) => b.points[3]!.high - b.points[3]!.low;
    expect(width(same)).toBeCloseTo(width(result), 2);
    const more = reorder(herd, [...rows, ...rows]);
    more.cluster.forEach((c, i) => {
      if (i >= rows.length) more.cluster[i] = c + 1000;
    });
    // Half the variance: 1/√2 = .71, give or take the bootstrap's own noise.
    expect(width(bands(more)) / width(result)).toBeGreaterThan(0.5);
    expect(width(bands(more)) / width(result)).toBeLessThan(0.9);
  });

  it('never claim certainty where nothing was seen: the exact limit for none of G', () => {
    const early = Array.from({ length: 20 }, () => [100, 130] as const);
    const data: Herd = {
      left: Float64Array.from(early, ([l]) => l),
      right: Float64Array.from(early, ([, r]) => r),
      cluster: Int32Array.from(early.keys()),
    };
    const [start, before, after] = bands(data, { at: Float64Array.from([0, 50, 130]) }).points;
    expect(start).toMatchObject({ low: 0, high: 0 });
    // 0 of 20, two-sided 95 %: 1 − .025^(1/20) = .168433 (closed form of Clopper & Pearson 1934).
    expect(before).toMatchObject({ estimate: { low: 0, high: 0 }, low: 0 });
    expect(before!.high).toBeCloseTo(0.168433, 4);
    expect(after!.estimate.low).toBeCloseTo(1, 12);
    expect(after!.low).toBeCloseTo(1 - 0.168433, 4);
  });

  it('can be watched and left between replicates', () => {
    const steps = turnbullBandSteps(herd, herd.cluster, { at: AT, replicates: 10 });
    expect(steps.next()).toEqual({ done: false, value: { done: 1, total: 10 } });
    expect(steps.next().value).toEqual({ done: 2, total: 10 });
    expect(steps.return({ unavailable: 'not-converged', sentence: 'stopped' }).done).toBe(true);
    expect(steps.next().done).toBe(true);
  });
});

describe('hard cases of the bands', () => {
  const herd = simulate(3, 4, 5);

  it('refuse one cluster, no rows and no events', () => {
    const one = new Int32Array(herd.left.length);
    expect(turnbullBands(herd, one, { at: AT })).toMatchObject({ unavailable: 'one-cluster' });
    const none = { left: new Float64Array(0), right: new Float64Array(0) };
    expect(turnbullBands(none, new Int32Array(0), { at: AT })).toMatchObject({ unavailable: 'no-rows' });
    const unseen = { left: Float64Array.from([4, 5]), right: Float64Array.from([I, I]) };
    expect(turnbullBands(unseen, Int32Array.from([1, 2]), { at: AT })).toMatchObject({
      unavailable: 'no-events',
    });
  });

  it('count only clusters with weight', () => {
    const weight = Float64Array.from(herd.cluster, (c) => (c === 0 ? 1 : 0));
    expect(turnbullBands({ ...herd, weight }, herd.cluster, { at: AT })).toMatchObject({
      unavailable: 'one-cluster',
    });
  });

  it('survive replicates that draw no event at all', () => {
    const rare: Herd = {
      left: Float64Array.from({ length: 6 }, (_, i) => (i === 0 ? 50 : 80)),
      right: Float64Array.from({ length: 6 }, (_, i) => (i === 0 ? 80 : I)),
      cluster: Int32Array.from({ length: 6 }, (_, i) => i),
    };
    const [point] = bands(rare, { at: Float64Array.from([80]) }).points;
    expect(point!.estimate.low).toBeCloseTo(1 / 6, 6);
    expect(point!.low).toBe(0);
    expect(point!.high).toBeGreaterThan(1 / 6);
  });

  it('reject options that are none', () => {
    expect(() => turnbullBands(herd, herd.cluster, { at: AT, confidence: 95 })).toThrow(/confidence/);
    expect(() => turnbullBands(herd, herd.cluster, { at: AT, replicates: 0 })).toThrow(/replicates/);
    expect(() => turnbullBands(herd, new Int32Array(1), { at: AT })).toThrow(/cluster must be as long/);
  });
});

it('cover the true share about as often as they say', () => {
  // Truth at 90: the mean of 1 − exp(−90 e^{.5z}/300) over z ~ N(0, 1), by the trapezium rule.
  let truth = 0;
  for (let z = -6; z <= 6; z += 0.01) {
    truth +=
      (0.01 * (1 - Math.exp(-0.3 * Math.exp(0.5 * z))) * Math.exp(-z * z * 0.5)) / Math.sqrt(2 * Math.PI);
  }
  let covered = 0;
  const herds = 60;
  for (let seed = 1; seed <= herds; seed += 1) {
    const [point] = bands(simulate(seed), {
      at: Float64Array.from([90]),
      quantiles: [],
      replicates: 80,
    }).points;
    if (point!.low <= truth && truth <= point!.high) covered += 1;
  }
  expect(covered / herds).toBeGreaterThanOrEqual(0.88);
});
