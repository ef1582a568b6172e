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

/** Which rows: their advice one of these places, left bare or protected, graded at the next visit. */
interface Kind {
  readonly advice: readonly number[];
  readonly bare?: 0 | 1;
  readonly isGraded?: true;
}

/** Those of one kind, by columns and not by a question asked of each: that takes many times as long. */
function ofKind({ advice, bare, tender }: ProtectionRows, kind: Kind): number[] {
  const isAsked = Uint8Array.from(ADVICES, (_, place) => (kind.advice.includes(place) ? 1 : 0));
  const wanted = kind.bare ?? -1;
  const leastTender = kind.isGraded ? 0 : -1;
  const kept: number[] = [];
  for (let row = 0; row < advice.length; row++) {
    if (isAsked[advice[row]!] !== 1 || tender[row]! < leastTender) continue;
    if (wanted < 0 || bare[row] === wanted) kept.push(row);
  }
  return kept;
}

const pick = (from: Int32Array, rows: readonly number[]): Int32Array => {
  const picked = new Int32Array(rows.length);
  for (let i = 0; i < rows.length; i++) picked[i] = from[rows[i]!]!;
  return picked;
};

/** 1 for each of the rows that has it. */
function marksOf(has: Int8Array | Uint8Array, rows: readonly number[]): Uint8Array {
  const marks = new Uint8Array(rows.length);
  for (let i = 0; i < rows.length; i++) marks[i] = has[rows[i]!] === 1 ? 1 : 0;
  return marks;
}

/** `has` is 1 in rows that have it. */
function counted(rows: ProtectionRows, places: readonly number[], has: Int8Array | Uint8Array): Counted {
  const success = marksOf(has, places);
  let cases = 0;
  for (let i = 0; i < success.length; i++) cases += success[i]!;
  return {
    counts: countOf(rows.horse, rows.foot, places),
    cases,
    share: clusteredShare({ success, cluster: pick(rows.horse, places) }),
  };
}

/** Places of a rule's advice, as asked for. */
const placesOf = (asked: Advice | 'all'): number[] =>
  asked === 'all' ? [...ADVICES.keys()] : [ADVICES.indexOf(asked)];

export function agreementOn(rows: ProtectionRows, asked: Agreement['advice']): Agreement {
  const { advice, bare } = rows;
  const places = ofKind(rows, { advice: placesOf(asked).filter((place) => place < 2) });
  const isKept = new Uint8Array(bare.length);
  for (let row = 0; row < isKept.length; row++) {
    isKept[row] = bare[row] === (advice[row] === 0 ? 1 : 0) ? 1 : 0;
  }
  return { advice: asked, followed: counted(rows, places, isKept) };
}

export const agreements = (rows: ProtectionRows): Agreement[] =>
  (['all', 'bare', 'protect'] as const).map((advice) => agreementOn(rows, advice));

export function tenderWhen(rows: ProtectionRows, asked: Tender['advice'], done: Tender['done']): Tender {
  const left = done === 'bare' ? 1 : 0;
  const places = ofKind(rows, { advice: placesOf(asked), bare: left, isGraded: true });
  return { advice: asked, done, tender: counted(rows, places, rows.tender) };
}

export const tenderShares = (rows: ProtectionRows): Tender[] =>
  [...ADVICES, 'all' as const].flatMap((advice) =>
    (['bare', 'protected'] as const).map((done) => tenderWhen(rows, advice, done)),
  );

/** Rows whose outcome was graded and of which it is known with which others they are alike. */
function comparable(rows: ProtectionRows, advice: readonly number[]): number[] {
  return ofKind(rows, { advice, isGraded: true }).filter((row) => rows.stratum[row]! >= 0);
}

export function likeFeet(rows: ProtectionRows): LikeFeet[] {
  const groups = new Map<number, number[]>();
  let [last, group]: [number, number[]] = [-1, []];
  for (const row of comparable(rows, placesOf('all'))) {
    const key = rows.advice[row]! * rows.strata.length + rows.stratum[row]!;
    // Rows of one foot stand together, and are mostly alike.
    if (key !== last) {
      group = groups.get(key) ?? [];
      groups.set(key, group);
      last = key;
    }
    group.push(row);
  }
  return [...groups]
    .map(([key, places]): LikeFeet => {
      const side = (bare: number): ClusteredOutcomes => {
        const mine = places.filter((row) => rows.bare[row] === bare);
        return {
          success: marksOf(rows.tender, mine),
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

function sideOf({ success, cluster }: ClusteredOutcomes): SideOf {
  const horses = new Set<number>();
  let tender = 0;
  for (let i = 0; i < success.length; i++) {
    tender += success[i]!;
    if (i === 0 || cluster[i] !== cluster[i - 1]) horses.add(cluster[i]!);
  }
  return { rows: success.length, tender, horses: horses.size };
}

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
    const places = comparable(rows, placesOf(advice));
    const [bare, kept] = [new Uint32Array(rows.strata.length), new Uint32Array(rows.strata.length)];
    for (const row of places) (rows.bare[row] === 1 ? bare : kept)[rows.stratum[row]!]! += 1;
    const seen = rows.strata.map((_, k) => k).filter((k) => bare[k]! + kept[k]! > 0);
    const isCompared = Uint8Array.from(bare, (n, k) => (n > 0 && kept[k]! > 0 ? 1 : 0));
    const [used, unused]: [number[], number[]] = [[], []];
    for (const row of places) (isCompared[rows.stratum[row]!] === 1 ? used : unused).push(row);
    const horses = (bare: number): number =>
      countOf(
        rows.horse,
        rows.foot,
        used.filter((row) => rows.bare[row] === bare),
      ).horses;
    const data = {
      stratum: pick(rows.stratum, places),
      exposed: marksOf(rows.bare, places),
      event: marksOf(rows.tender, places),
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
        counts: countOf(rows.horse, rows.foot, unused),
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
