import { isUnavailable, type Outcome } from '../../core/outcome.ts';
import {
  type ClusteredOutcomes,
  type ClusteredShare,
  clusteredContrast,
  clusteredShare,
  type ShareContrast,
} from '../../stats/design-effect.ts';
import type { MantelHaenszel } from '../../stats/mantel-haenszel.ts';
import { jackknifeMantelHaenszel } from '../../stats/mantel-haenszel-jackknife.ts';
import { newcombeDifference } from '../../stats/wilson.ts';
import { FEWEST_COMPARED } from '../few-horses.ts';
import type { Counts } from '../format.ts';
import { countOf } from '../groups.ts';
import { ADVICES, type ProtectionRows } from './data.ts';
import type { Advice } from './verdict.ts';

/** Rows of one kind, with the share of them that has something. */
export interface Counted {
  readonly counts: Counts;
  /** Rows that have it. */
  readonly cases: number;
  readonly share: Outcome<ClusteredShare>;
}

/** Advice against practice; `all` leaves out cycles of which the rule cannot say. */
export interface Agreement {
  readonly advice: 'bare' | 'protect' | 'all';
  readonly followed: Counted;
}

/** Feet of one advice left in one way, graded at the next visit: how many were tender then. */
export interface Tender {
  readonly advice: Advice | 'all';
  readonly done: 'bare' | 'protected';
  readonly tender: Counted;
}

interface SideOf {
  readonly rows: number;
  readonly tender: number;
  readonly horses: number;
}

type Contrast = Pick<ShareContrast, 'difference' | 'ratio'>;

/** A group of like feet under one advice. */
export interface LikeFeet {
  readonly advice: Advice;
  readonly stratum: string;
  readonly counts: Counts;
  readonly bare: SideOf;
  readonly protected: SideOf;
  /** Tender when bare less tender when protected, as a share. */
  readonly contrast: Outcome<Contrast>;
}

/** Pooled over groups of like feet that hold both bare and protected ones. */
export interface Pooled {
  readonly advice: Advice | 'all';
  readonly pooled: Outcome<MantelHaenszel & { readonly nClusters: number }>;
  readonly counts: Counts;
  /** Horses with a foot left bare, and with one protected, among the rows that compare. */
  readonly horses: { readonly bare: number; readonly protected: number };
  /** Names of the groups that compare. */
  readonly strata: readonly string[];
  readonly without: { readonly strata: number; readonly counts: Counts };
}

const all = (rows: ProtectionRows, keep: (row: number) => boolean): number[] => {
  const kept: number[] = [];
  for (let row = 0; row < rows.horse.length; row++) if (keep(row)) kept.push(row);
  return kept;
};

const pick = (from: ArrayLike<number>, rows: readonly number[]): Int32Array => {
  const picked = new Int32Array(rows.length);
  for (let i = 0; i < rows.length; i++) picked[i] = from[rows[i]!]!;
  return picked;
};

function counted(rows: ProtectionRows, places: readonly number[], has: (row: number) => boolean): Counted {
  const success = new Uint8Array(places.length);
  let cases = 0;
  for (let i = 0; i < places.length; i++) {
    if (!has(places[i]!)) continue;
    success[i] = 1;
    cases += 1;
  }
  return {
    counts: countOf(rows.horse, rows.foot, places),
    cases,
    share: clusteredShare({ success, cluster: pick(rows.horse, places) }),
  };
}

/** Whether a rule's advice, as a place, is the one asked for. */
function isAdvised(asked: Advice | 'all'): (advice: number) => boolean {
  const place = asked === 'all' ? -1 : ADVICES.indexOf(asked);
  return (advice) => place < 0 || advice === place;
}

export function agreementOn(rows: ProtectionRows, asked: Agreement['advice']): Agreement {
  const { advice, bare } = rows;
  const isAsked = isAdvised(asked);
  const places = all(rows, (row) => advice[row]! < 2 && isAsked(advice[row]!));
  const isKept = (row: number): boolean => bare[row] === (advice[row] === 0 ? 1 : 0);
  return { advice: asked, followed: counted(rows, places, isKept) };
}

export const agreements = (rows: ProtectionRows): Agreement[] =>
  (['all', 'bare', 'protect'] as const).map((advice) => agreementOn(rows, advice));

export function tenderWhen(rows: ProtectionRows, asked: Tender['advice'], done: Tender['done']): Tender {
  const { advice, bare, tender } = rows;
  const left = done === 'bare' ? 1 : 0;
  const isAsked = isAdvised(asked);
  const places = all(rows, (row) => tender[row]! >= 0 && bare[row] === left && isAsked(advice[row]!));
  return { advice: asked, done, tender: counted(rows, places, (row) => tender[row] === 1) };
}

export const tenderShares = (rows: ProtectionRows): Tender[] =>
  [...ADVICES, 'all' as const].flatMap((advice) =>
    (['bare', 'protected'] as const).map((done) => tenderWhen(rows, advice, done)),
  );

/** Rows whose outcome was graded and of which it is known with which others they are alike. */
const comparable = (rows: ProtectionRows, row: number): boolean =>
  rows.tender[row]! >= 0 && rows.stratum[row]! >= 0;

export function likeFeet(rows: ProtectionRows): LikeFeet[] {
  const groups = new Map<number, number[]>();
  for (let row = 0; row < rows.horse.length; row++) {
    if (!comparable(rows, row)) continue;
    const key = rows.advice[row]! * rows.strata.length + rows.stratum[row]!;
    const group = groups.get(key);
    if (group) group.push(row);
    else groups.set(key, [row]);
  }
  return [...groups]
    .map(([key, places]): LikeFeet => {
      const side = (bare: number): ClusteredOutcomes => {
        const mine = places.filter((row) => rows.bare[row] === bare);
        return {
          success: Uint8Array.from(mine, (row) => rows.tender[row]!),
          cluster: pick(rows.horse, mine),
        };
      };
      const [left, kept] = [side(1), side(0)];
      return {
        advice: ADVICES[Math.floor(key / rows.strata.length)]!,
        stratum: rows.strata[key % rows.strata.length]!,
        counts: countOf(rows.horse, rows.foot, places),
        bare: sideOf(left),
        protected: sideOf(kept),
        contrast: contrastOf(left, kept),
      };
    })
    .sort((a, b) => b.counts.cycles - a.counts.cycles || a.stratum.localeCompare(b.stratum));
}

const sideOf = ({ success, cluster }: ClusteredOutcomes): SideOf => ({
  rows: success.length,
  tender: success.reduce((sum, value) => sum + value, 0),
  horses: new Set(cluster).size,
});

/**
 * Where a side has no case, or nothing else, its linearised variance is 0 and says nothing: then the two Wilson
 * intervals on effective rows are put together (Newcombe 1998, Stat Med 17:873–890, method 10), which is the cautious end.
 */
function contrastOf(left: ClusteredOutcomes, kept: ClusteredOutcomes): Outcome<Contrast> {
  const found = clusteredContrast(left, kept);
  const [a, b] = [clusteredShare(left), clusteredShare(kept)];
  if (isUnavailable(found)) return found;
  if (isUnavailable(a) || isUnavailable(b)) return found;
  const says = [a, b].every(({ estimate }) => estimate > 0 && estimate < 1);
  return says ? found : { difference: newcombeDifference(a, b), ratio: null };
}

export function pooled(rows: ProtectionRows): Pooled[] {
  return (['all', 'bare', 'protect'] as const).map((advice) => {
    const isAsked = isAdvised(advice);
    const places = all(rows, (row) => comparable(rows, row) && isAsked(rows.advice[row]!));
    const [bare, kept] = [new Uint32Array(rows.strata.length), new Uint32Array(rows.strata.length)];
    for (const row of places) (rows.bare[row] === 1 ? bare : kept)[rows.stratum[row]!]! += 1;
    const seen = rows.strata.map((_, k) => k).filter((k) => bare[k]! + kept[k]! > 0);
    const isCompared = Uint8Array.from(bare, (n, k) => (n > 0 && kept[k]! > 0 ? 1 : 0));
    const compares = (row: number): boolean => isCompared[rows.stratum[row]!] === 1;
    const used = places.filter(compares);
    const horses = (bare: number) =>
      new Set(used.filter((row) => rows.bare[row] === bare).map((row) => rows.horse[row])).size;
    const data = {
      stratum: pick(rows.stratum, places),
      exposed: Uint8Array.from(places, (row) => rows.bare[row]!),
      event: Uint8Array.from(places, (row) => rows.tender[row]!),
      cluster: pick(rows.horse, places),
    };
    return {
      advice,
      pooled: jackknifeMantelHaenszel(data, rows.strata.length),
      counts: countOf(rows.horse, rows.foot, used),
      horses: { bare: horses(1), protected: horses(0) },
      strata: seen
        .filter((k) => isCompared[k] === 1)
        .map((k) => rows.strata[k]!)
        .sort(),
      without: {
        strata: seen.filter((k) => isCompared[k] === 0).length,
        counts: countOf(
          rows.horse,
          rows.foot,
          places.filter((row) => !compares(row)),
        ),
      },
    };
  });
}

/** Why a group of like feet says nothing, in words; null where it compares. */
export function noEvidence({ bare, protected: kept, contrast }: LikeFeet): string | null {
  if (bare.rows === 0) return 'no evidence here: all were protected';
  if (kept.rows === 0) return 'no evidence here: all were left bare';
  const tender = bare.tender + kept.tender;
  if (tender === 0) return 'none was tender';
  if (tender === bare.rows + kept.rows) return 'all were tender';
  if (isUnavailable(contrast) || Math.min(bare.horses, kept.horses) < FEWEST_COMPARED) {
    return `too few horses: ${bare.horses} bare, ${kept.horses} protected`;
  }
  return null;
}
