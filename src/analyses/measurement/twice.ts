import { median } from '../../stats/clustered-spread.ts';
import { normalMultiplier } from '../../stats/distributions.ts';
import type { NestedSlopesFit } from '../../stats/nested-slopes.ts';
import { rateVariances, type SlopeVariances, withSecondReading } from '../../stats/second-reading.ts';
import type { GrowthRows } from '../growth/data.ts';

/** How wide the interval of a horse's growth is now, and were each reading the mean of two; mm per 30 days either side. */
interface Width {
  readonly cycles: number;
  readonly now: number;
  readonly twice: number;
}

export interface Twice {
  /** Horses with so many trim cycles on each of four feet, of the herd's usual length. */
  readonly typical: readonly Width[];
  readonly usualDays: number;
  /** The middle horse of the herd: its width now, and the middle of the ratios. */
  readonly herd: { readonly now: number; readonly twice: number; readonly ratio: number } | null;
}

const CYCLES = [1, 2, 4, 8, 16];
const FEET = 4;

/** How long feet were watched, which tells how well a second reading would pay. */
export interface Watched {
  readonly usualDays: number;
  /** Of each foot of the fit the sum of its cycles' squared lengths, (30 days)². */
  readonly squares: Float64Array;
}

export function watchedOf(fit: NestedSlopesFit, rows: Pick<GrowthRows, 'days' | 'foot'>): Watched {
  const places = new Map(Array.from(fit.unitIds, (id, i) => [id, i]));
  const squares = new Float64Array(fit.nUnits);
  rows.days.forEach((days, row) => {
    squares[places.get(rows.foot[row]!)!]! += (days / 30) ** 2;
  });
  return { usualDays: median(rows.days), squares };
}

/** Null where horses show no spread in growth: nothing of a horse's own is then told. */
export function readTwice(
  fit: NestedSlopesFit,
  { usualDays, squares }: Watched,
  readingSd: number,
): Twice | null {
  const now = fit.variances;
  if (!(now.cluster > 0)) return null;
  const then = withSecondReading(now, readingSd);
  const square = (usualDays / 30) ** 2;
  const typical = CYCLES.map((cycles): Width => {
    const squares = new Float64Array(FEET).fill(cycles * square);
    const wide = (v: SlopeVariances): number => reach(rateVariances(squares, new Int32Array(FEET), 1, v)[0]!);
    return { cycles, now: wide(now), twice: wide(then) };
  });
  const own = (v: SlopeVariances): Float64Array =>
    rateVariances(squares, fit.unitCluster, fit.nClusters, v).map(reach);
  const [a, b] = [own(now), own(then)];
  return {
    typical,
    usualDays,
    herd: { now: median(a), twice: median(b), ratio: median(a.map((width, i) => b[i]! / width)) },
  };
}

const reach = (variance: number): number => normalMultiplier() * Math.sqrt(variance);
