import { type Estimate, isUnavailable, type Outcome } from '../../core/outcome.ts';
import { literal } from '../../engine/sql-text.ts';
import { clusteredRate } from '../../stats/clustered-rate.ts';
import { type ClusteredShare, clusteredShare } from '../../stats/design-effect.ts';
import type { Counts } from '../format.ts';
import { countOf } from '../groups.ts';
import { GROWING_OUT, type GrowingOut } from './options.ts';
import { LATER_VISITS, type PastProjections } from './past.ts';

/** Projections that gave a chance of `low` up to `high` (0–1), against what was seen. */
export interface Band {
  readonly problem: GrowingOut;
  readonly later: number;
  readonly low: number;
  readonly high: number;
  /** Mean chance given. */
  readonly projected: number;
  /** Share seen clear by that visit, horses as clusters. */
  readonly seen: Outcome<ClusteredShare>;
  readonly counts: Counts;
  readonly where: string;
  readonly title: string;
}

/** All projections by one later visit. */
interface Overall extends Band {
  /** Share seen clear less the mean chance given. */
  readonly difference: Outcome<Estimate>;
}

export interface Calibration {
  readonly overall: readonly Overall[];
  readonly bands: readonly Band[];
}

export const LATER_WORDS = ['', 'next visit', 'second visit', 'third visit'] as const;

/** More visits than this are not listed one by one behind a figure; the latest are. */
const MOST_LISTED = 2500;

/** Ten bands of the chance given, each against the share seen clear; and all of them together. */
export function calibrationOf(past: PastProjections): Calibration {
  const overall: Overall[] = [];
  const bands: Band[] = [];
  const named = visitNames(past);
  for (const [problem, byLater] of rowsOf(past)) {
    for (const later of LATER_VISITS) {
      const of = { problem, later };
      const rows = byLater[later]!;
      if (rows.length === 0) continue;
      overall.push({ ...bandOf(past, of, [0, 1], rows, named), difference: differenceOf(past, rows) });
      const inBands: number[][] = Array.from({ length: BANDS }, () => []);
      for (const row of rows) inBands[Math.min(BANDS - 1, Math.floor(past.chance[row]! * BANDS))]!.push(row);
      for (const [k, inBand] of inBands.entries()) {
        if (inBand.length > 0) bands.push(bandOf(past, of, [k / BANDS, (k + 1) / BANDS], inBand, named));
      }
    }
  }
  return { overall, bands };
}

const BANDS = 10;

/** Rows of each problem, in the order in which problems are met, by the later visit. */
function rowsOf({ problem, later }: PastProjections): Map<GrowingOut, number[][]> {
  const found = new Map<GrowingOut, number[][]>();
  for (let row = 0; row < problem.length; row++) {
    let byLater = found.get(problem[row]!);
    if (!byLater) {
      byLater = ['', ...LATER_VISITS].map(() => []);
      found.set(problem[row]!, byLater);
    }
    byLater[later[row]!]!.push(row);
  }
  return found;
}

function bandOf(
  past: PastProjections,
  { problem, later }: Pick<Band, 'problem' | 'later'>,
  [low, high]: readonly [number, number],
  rows: readonly number[],
  named: (row: number) => string,
): Band {
  const [success, cluster] = [new Uint8Array(rows.length), new Int32Array(rows.length)];
  let given = 0;
  for (let i = 0; i < rows.length; i++) {
    const row = rows[i]!;
    success[i] = past.clear[row]!;
    cluster[i] = past.horse[row]!;
    given += past.chance[row]!;
  }
  const listed = latest(past.visit, rows);
  const of = rows.length > listed.length ? `, the latest ${MOST_LISTED} visits` : '';
  return {
    problem,
    later,
    low,
    high,
    projected: given / rows.length,
    seen: clusteredShare({ success, cluster }),
    counts: countOf(past.horse, past.foot, rows),
    where: visitsWhere(listed.map(named)),
    title: `visits with a ${GROWING_OUT[problem]} projected to be grown out by the ${LATER_WORDS[later]}${of}`,
  };
}

/** The latest day first, of one day as they come: rows come by day. */
function latest(visit: Float64Array, rows: readonly number[]): number[] {
  const found: number[] = [];
  for (let end = rows.length; end > 0 && found.length < MOST_LISTED; ) {
    let from = end - 1;
    while (from > 0 && visit[rows[from - 1]!] === visit[rows[end - 1]!]) from -= 1;
    for (let i = from; i < end; i++) found.push(rows[i]!);
    end = from;
  }
  return found.slice(0, MOST_LISTED);
}

/** Foot and day of a row in SQL, each written once: it is listed with all others, and again in its band. */
function visitNames(past: PastProjections): (row: number) => string {
  const written: string[] = [];
  return (row) => (written[row] ??= `(${literal(past.footKey[row]!)}, ${past.visit[row]})`);
}

function visitsWhere(visits: readonly string[]): string {
  return `(foot_key, visit_date - DATE '1970-01-01') IN (${[...new Set(visits)].join(', ')})`;
}

function differenceOf(past: PastProjections, rows: readonly number[]): Outcome<Estimate> {
  const [apart, cluster] = [new Float64Array(rows.length), new Int32Array(rows.length)];
  for (let i = 0; i < rows.length; i++) {
    const row = rows[i]!;
    apart[i] = past.clear[row]! - past.chance[row]!;
    cluster[i] = past.horse[row]!;
  }
  const found = clusteredRate(apart, new Float64Array(rows.length).fill(1), cluster);
  if (isUnavailable(found)) return found;
  return { ...found, low: Math.max(-1, found.low), high: Math.min(1, found.high) };
}
