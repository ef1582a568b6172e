import type { SourceColumn } from './source.ts';
import { isFraction, statedUnit } from './values/length-value.ts';
import { type DecimalMark, parseNumber } from './values/number-value.ts';
import { isFault, saysNothing } from './values/parsed.ts';

/** What the cells of a column say about a unit of length; small, so that it travels with the mapping. */
export interface LengthsSeen {
  /** Numbers that state no unit, each with its rows, ascending; long lists are thinned to equal shares of the rows. */
  readonly bare: readonly (readonly [value: number, rows: number])[];
  /** Rows with a fraction (`3 3/8`), which is of inches. */
  readonly fractions: number;
  /** Rows with a unit of their own (`8 cm`). */
  readonly stating: number;
}

export const NOTHING_SEEN: LengthsSeen = { bare: [], fractions: 0, stating: 0 };

const POINTS = 24;

export function lengthsSeen(column: SourceColumn, decimal: DecimalMark): LengthsSeen {
  if (column.type !== 'text' && column.type !== 'number') return NOTHING_SEEN;
  const bare = new Map<number, number>();
  let fractions = 0;
  let stating = 0;
  column.distinct.forEach((raw, code) => {
    // Rows are only counted of a column that has lengths.
    const rows = (): number => column.counts[code] ?? 0;
    const text = String(raw ?? '');
    if (saysNothing(text)) return;
    if (isFraction(text)) fractions += rows();
    else if (/\d/.test(text) && statedUnit(text)) stating += rows();
    else {
      const value = typeof raw === 'number' ? raw : parseNumber(text, decimal);
      if (!isFault(value)) bare.set(value, (bare.get(value) ?? 0) + rows());
    }
  });
  return { bare: thinned([...bare]), fractions, stating };
}

/** Several columns judged as one: the four feet of one measure. */
export function pooled(seen: readonly LengthsSeen[]): LengthsSeen {
  return {
    bare: seen.flatMap((s) => s.bare),
    fractions: seen.reduce((sum, s) => sum + s.fractions, 0),
    stating: seen.reduce((sum, s) => sum + s.stating, 0),
  };
}

export function bareRows({ bare }: LengthsSeen): number {
  return bare.reduce((sum, [, rows]) => sum + rows, 0);
}

/** The value that half the rows do not exceed; NaN without any. */
export function middleOf({ bare }: LengthsSeen): number {
  const sorted = [...bare].sort(([a], [b]) => a - b);
  const half = sorted.reduce((sum, [, rows]) => sum + rows, 0) / 2;
  let passed = 0;
  for (const [value, rows] of sorted) {
    passed += rows;
    if (passed >= half) return value;
  }
  return Number.NaN;
}

/** Each point stands for an equal share of the rows, by the middle of their values. */
function thinned(values: readonly (readonly [number, number])[]): (readonly [number, number])[] {
  const sorted = [...values].sort(([a], [b]) => a - b);
  if (sorted.length <= POINTS) return sorted;
  const share = sorted.reduce((sum, [, rows]) => sum + rows, 0) / POINTS;
  const groups = new Map<number, (readonly [number, number])[]>();
  let passed = 0;
  for (const pair of sorted) {
    const at = Math.min(POINTS - 1, Math.floor((passed + pair[1] / 2) / share));
    groups.set(at, [...(groups.get(at) ?? []), pair]);
    passed += pair[1];
  }
  return [...groups.values()].map((bare) => {
    const group = { bare, fractions: 0, stating: 0 };
    return [middleOf(group), bareRows(group)] as const;
  });
}
