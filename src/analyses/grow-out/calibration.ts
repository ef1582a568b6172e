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
  for (const problem of [...new Set(past.problem)]) {
    for (const later of LATER_VISITS) {
      const of = { problem, later };
      const rows = rowsWhere(past, (row) => past.later[row] === later && past.problem[row] === problem);
      if (rows.length === 0) continue;
      overall.push({ ...bandOf(past, of, [0, 1], rows, named), difference: differenceOf(past, rows) });
      for (let k = 0; k < 10; k++) {
        const inBand = rows.filter((row) => Math.min(9, Math.floor(past.chance[row]! * 10)) === k);
        if (inBand.length > 0) bands.push(bandOf(past, of, [k / 10, (k + 1) / 10], inBand, named));
      }
    }
  }
  return { overall, bands };
}

function rowsWhere(past: PastProjections, keep: (row: number) => boolean): number[] {
  return Array.from(past.chance.keys()).filter(keep);
}

function bandOf(
  past: PastProjections,
  { problem, later }: Pick<Band, 'problem' | 'later'>,
  [low, high]: readonly [number, number],
  rows: readonly number[],
  named: (row: number) => string,
): Band {
  const success = Uint8Array.from(rows, (row) => past.clear[row]!);
  const cluster = Int32Array.from(rows, (row) => past.horse[row]!);
  const listed = [...rows].sort((a, b) => past.visit[b]! - past.visit[a]!).slice(0, MOST_LISTED);
  const of = rows.length > listed.length ? `, the latest ${MOST_LISTED} visits` : '';
  return {
    problem,
    later,
    low,
    high,
    projected: rows.reduce((sum, row) => sum + past.chance[row]!, 0) / rows.length,
    seen: clusteredShare({ success, cluster }),
    counts: countOf(past.horse, past.foot, rows),
    where: visitsWhere(listed.map(named)),
    title: `visits with a ${GROWING_OUT[problem]} projected to be grown out by the ${LATER_WORDS[later]}${of}`,
  };
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
  const found = clusteredRate(
    Float64Array.from(rows, (row) => past.clear[row]! - past.chance[row]!),
    new Float64Array(rows.length).fill(1),
    Int32Array.from(rows, (row) => past.horse[row]!),
  );
  if (isUnavailable(found)) return found;
  return { ...found, low: Math.max(-1, found.low), high: Math.min(1, found.high) };
}
