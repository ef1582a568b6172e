import { isUnavailable, type Outcome } from '../../core/outcome.ts';
import { type Coefficient, coefficient } from '../../stats/predictor-fit.ts';
import { fitTwoStateMarkov } from '../../stats/two-state-markov.ts';
import { INTERCEPT, levelColumns, sideBySide, usedColumns } from '../design-columns.ts';
import { type Coded, type Grouping, groupingName } from '../groups.ts';
import { type PairCells, pairsByLevel, ratesData, toldApart } from '../pair-cells.ts';
import { type Seen, seenByLevel } from '../seen-moves.ts';
import type { PairRows } from './data.ts';
import { bothStates, type OneState, takingPart } from './taking-part.ts';

/** One level's rates over those of the commonest, on the log scale. */
export interface LevelRatio {
  readonly level: string;
  readonly comparison: 'crude' | 'adjusted';
  readonly onset: Coefficient;
  readonly clearing: Coefficient;
  /** Rows of the level and of the one that it is compared with, as the fit used them. */
  readonly seen: Seen;
}

export interface Comparison {
  readonly comparison: LevelRatio['comparison'];
  readonly reference: string;
  readonly ratios: readonly LevelRatio[];
  /** Levels whose rows all began in one state: left out, since one of their two rates shows nowhere. */
  readonly leftOut: readonly OneState[];
}

/** Levels against the commonest, alone or with the other groupings held alike. */
export function compareLevels(
  rows: PairRows,
  cells: PairCells,
  by: Grouping,
  comparison: LevelRatio['comparison'],
): Outcome<Comparison> {
  const used = [...cells.groups].filter(([grouping]) => comparison === 'adjusted' || grouping === by);
  const { marks, leftOut } = bothStates(cells, used);
  const kept = takingPart(cells.groups, marks, cells.days.length);
  const own = cells.groups.get(by)!;
  const reference = commonestOf(cells, own, kept);
  const keptCells = Array.from(kept.keys()).filter((cell) => kept[cell] === 1);
  const parts = used.map(([grouping, coded]) => {
    const from = grouping === by ? reference : commonestOf(cells, coded, kept);
    return usedColumns(levelColumns(grouping, coded, from), keptCells);
  });
  const [, pairs] = pairsByLevel(cells.cells, { levels: ['left out', 'kept'], codes: Int32Array.from(kept) });
  const told = toldApart(
    cells,
    used.map(([, coded]) => coded),
  );
  const fit = fitTwoStateMarkov(ratesData(cells, pairs!, told, sideBySide(INTERCEPT, ...parts)));
  if (isUnavailable(fit)) return fit;
  const p = fit.onsetTerms.length;
  const seen = seenByLevel(
    rows,
    only(rows.groups.get(by)!, takingPart(rows.groups, marks, rows.days.length)),
    reference,
  );
  const ratios = own.levels.flatMap((level, k): LevelRatio[] => {
    const at = fit.onsetTerms.indexOf(`onset, ${groupingName(by)} ${level}`);
    if (at < 0) return [];
    return [
      { level, comparison, onset: coefficient(fit, at), clearing: coefficient(fit, p + at), seen: seen[k]! },
    ];
  });
  return { comparison, reference: own.levels[reference]!, ratios, leftOut };
}

/** The level with most trim cycles among the cells kept: the first of several. */
function commonestOf({ cells: { count } }: PairCells, { levels, codes }: Coded, kept: Uint8Array): number {
  const totals = new Float64Array(levels.length);
  for (let cell = 0; cell < codes.length; cell++) if (kept[cell] === 1) totals[codes[cell]!]! += count[cell]!;
  return totals.indexOf(Math.max(...totals));
}

/** The same levels, -1 where a row is not kept. */
function only({ levels, codes }: Coded, kept: Uint8Array): Coded {
  return { levels, codes: codes.map((of, row) => (kept[row] === 1 ? of : -1)) };
}
