import { isUnavailable, type Outcome } from '../../core/outcome.ts';
import { alikeInClusters } from '../../stats/alike-in-clusters.ts';
import { splitWithinBetween } from '../../stats/within-between.ts';
import { BEGAN, type CycleKinds, cycleKinds, ENDED, levelsOfKinds } from '../cycle-kinds.ts';
import { type DesignColumns, sideBySide } from '../design-columns.ts';
import { inOrder } from '../foot-order.ts';
import type { Coded, Grouping } from '../groups.ts';

/** Three ways of comparing long intervals with short ones. */
export const COMPARISONS = ['crude', 'adjusted', 'within-horse'] as const;
export type Comparison = (typeof COMPARISONS)[number];

/** Interval at which the onset term is the cumulative hazard: 6 weeks. */
const REFERENCE_DAYS = 42;

/**
 * Cycles of one horse that no comparison can tell apart, as one row that counts so often, horse after horse: arrays of
 * length n, numbers alone, which go to any thread.
 */
export interface AlikeCycles {
  readonly weight: Float64Array;
  /** 1 with the problem at the next visit, 2 more with it after the trim. */
  readonly states: Uint8Array;
  readonly kind: Int32Array;
  readonly horse: Int32Array;
  readonly kinds: CycleKinds;
  /** For each horse the mean of log(days) over its cycles that began clear: its usual interval. */
  readonly usual: Outcome<Float64Array>;
}

/** As many as `states` can be. */
export const STATES = 4;

/** Of the rows of the fit. */
interface GradedRows {
  readonly days: Float64Array;
  readonly start: Uint8Array;
  readonly end: Uint8Array;
  readonly horse: Int32Array;
  readonly groups: ReadonlyMap<Grouping, Coded>;
}

export function alikeCycles({ days, start, end, horse, groups }: GradedRows): AlikeCycles {
  const kinds = cycleKinds(days, groups);
  const code = new Int32Array(days.length);
  for (let row = 0; row < code.length; row++) {
    code[row] = STATES * kinds.of[row]! + BEGAN * start[row]! + ENDED * end[row]!;
  }
  const { row: rows, count } = alikeInClusters(code, horse);
  return {
    weight: count,
    states: Uint8Array.from(rows, (row) => code[row]! % STATES),
    kind: inOrder(kinds.of, rows),
    horse: inOrder(horse, rows),
    kinds,
    usual: usualByHorse(days, horse, start),
  };
}

function usualByHorse(days: Float64Array, horse: Int32Array, start: Uint8Array): Outcome<Float64Array> {
  const split = splitWithinBetween(
    days.map(logDays),
    horse,
    start.map((state) => 1 - state),
  );
  if (isUnavailable(split)) return split;
  const usual = new Float64Array(horse.reduce((most, code) => Math.max(most, code), -1) + 1);
  // Zeros of one sign: they are looked up by their digits.
  for (let row = 0; row < horse.length; row++) usual[horse[row]!] = split.between[row]! + 0;
  return usual;
}

export const logDays = (days: number): number => Math.log(days / REFERENCE_DAYS);

/** What a comparison holds alike, as columns of alike rows. */
export function onsetColumns(
  { kinds, kind, horse, usual }: AlikeCycles,
  comparison: Comparison,
): DesignColumns {
  const level: DesignColumns = { names: ['clear foot, 6 weeks'], at: [() => 1] };
  if (comparison === 'crude') return level;
  const adjusted = sideBySide(level, ...levelsOfKinds(kinds, kind));
  if (comparison === 'adjusted' || isUnavailable(usual)) return adjusted;
  // With the horse's usual interval held, the exponent compares each interval with that horse's own mean.
  return sideBySide(adjusted, {
    names: ['the horse’s usual interval'],
    at: [(row) => usual[horse[row]!]!],
  });
}
