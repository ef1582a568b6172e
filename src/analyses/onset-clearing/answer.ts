import { isUnavailable, type Outcome } from '../../core/outcome.ts';
import { literal } from '../../engine/sql-text.ts';
import { problemLabel } from '../../herd/problems.ts';
import { allOf, groupSql, isLevel, isOneOf } from '../groups.ts';
import type { LevelRates } from '../level-rates.ts';
import type { Seen } from '../seen-moves.ts';
import { shownRatio } from '../shown-ratio.ts';
import { adjustedWhere, crudeWhere } from './data.ts';
import type { Comparison, LevelRatio } from './fits.ts';
import type { OnsetOptions } from './options.ts';

/** Everything the tables and sentences of this analysis are made from. */
export interface OnsetAnswer {
  readonly options: OnsetOptions;
  /** The herd first, then each level. */
  readonly levels: readonly LevelRates[];
  readonly comparisons: readonly Outcome<Comparison>[];
}

/** A ratio that could be told, or bounded from one side, of one of the two rates. */
export interface RatioRow {
  readonly rate: 'onset' | 'clearing';
  readonly level: string;
  readonly reference: string;
  readonly comparison: LevelRatio['comparison'];
  /** Null where only a one-sided limit can be given, with the other end. */
  readonly estimate: number | null;
  readonly stdError: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly seen: Seen;
  readonly where: string;
}

/** The rows of one level, or of the herd. */
export function levelWhere(options: OnsetOptions, level: string | null): string {
  return options.by === 'none' || level === null
    ? crudeWhere(options)
    : allOf(crudeWhere(options), isLevel(options.by, level));
}

export function ratioRows(options: OnsetOptions, comparison: Comparison): RatioRow[] {
  const { by } = options;
  if (by === 'none') return [];
  const { reference, leftOut } = comparison;
  const base = comparison.comparison === 'crude' ? crudeWhere(options) : adjustedWhere(options);
  const without = leftOut.map(({ grouping, level }) => `${groupSql(grouping)} <> ${literal(level)}`);
  return comparison.ratios.flatMap((ratio) =>
    (['onset', 'clearing'] as const).flatMap((rate): RatioRow[] => {
      const told = shownRatio(ratio[rate]);
      if (isUnavailable(told)) return [];
      const where = allOf(base, ...without, isOneOf(by, [ratio.level, reference]));
      return [
        {
          rate,
          level: ratio.level,
          reference,
          comparison: ratio.comparison,
          ...told,
          seen: ratio.seen,
          where,
        },
      ];
    }),
  );
}

export const cyclesTitle = ({ problem }: OnsetOptions, level: string): string =>
  `trim cycles with ${problemLabel(problem)} graded at both ends, ${level}`;
