import type { Outcome } from '../core/outcome.ts';
import { fitTwoStateMarkov, type MarkovSummary } from '../stats/two-state-markov.ts';
import { INTERCEPT } from './design-columns.ts';
import type { Coded, Grouping } from './groups.ts';
import { type PairCells, pairsByLevel, ratesData, toldApart } from './pair-cells.ts';
import { type MoveRows, type Seen, seenByLevel } from './seen-moves.ts';
import { ratesInPlainWords } from './two-state-words.ts';

/** Rates of one level, from its own rows alone. */
export interface LevelRates {
  /** Null for the whole herd. */
  readonly level: string | null;
  readonly summary: Outcome<MarkovSummary>;
  readonly seen: Seen;
}

/** Nothing told apart: all are of one level. */
const oneLevel = (n: number): Coded => ({ levels: ['all'], codes: new Int32Array(n) });

/** The herd, then each level of the grouping on its own; `cells` are those of the rows. */
export function levelRates(
  rows: MoveRows & { readonly groups: ReadonlyMap<Grouping, Coded> },
  cells: PairCells,
  by: Grouping | 'none',
): LevelRates[] {
  const told = toldApart(cells, []);
  const ratesOf = (ofRows: Coded, ofCells: Coded) => {
    const seen = seenByLevel(rows, ofRows);
    return pairsByLevel(cells.cells, ofCells).map((pairs, k) => ({
      summary: ratesInPlainWords(fitTwoStateMarkov(ratesData(cells, pairs, told, INTERCEPT))),
      seen: seen[k]!,
    }));
  };
  const [herd] = ratesOf(oneLevel(rows.start.length), oneLevel(cells.start.length));
  const coded = by === 'none' ? undefined : rows.groups.get(by);
  const each = coded ? ratesOf(coded, cells.groups.get(by)!) : [];
  return [{ level: null, ...herd! }, ...each.map((rates, k) => ({ level: coded!.levels[k]!, ...rates }))];
}
