import { isUnavailable, type Outcome, unavailable } from '../../core/outcome.ts';
import { kaplanMeier } from '../../stats/kaplan-meier.ts';
import { beginBands } from '../../stats/turnbull-bands.ts';
import { weibullInterval } from '../../stats/weibull-interval.ts';
import { designMatrix, levelColumns } from '../design-columns.ts';
import { allOf, code, commonest, countOf, type Grouping, isLevel, rowsByLevel } from '../groups.ts';
import { type LevelRates, levelRates } from '../level-rates.ts';
import { pairCells } from '../pair-cells.ts';
import type {
  ClearSpells,
  GroupBegun,
  RecurrenceOptions,
  ReturnPairs,
  ReturnRatios,
  SteadyReturn,
} from './answer.ts';
import { pairsWhere, spellWhere } from './data.ts';

/** Days at which curves are drawn: two years. The whole herd every 10 days, groups every 20. */
export const drawnDays = (step: number): number[] =>
  Array.from({ length: Math.floor(730 / step) + 1 }, (_, i) => i * step);

/** The curve of one group, the visit-date reading and the steady rate beside it: all but its band. */
export function beginGroup(
  rows: ClearSpells,
  rates: readonly LevelRates[],
  name: string | null,
  options: RecurrenceOptions,
): GroupBegun {
  const { problem, by, horizons, replicates, seed } = options;
  const keep = Array.from(rows.left.keys()).filter((i) => name === null || rows.level[i] === name);
  const pick = (values: Float64Array): Float64Array => Float64Array.from(keep, (i) => values[i]!);
  const left = pick(rows.left);
  const right = pick(rows.right);
  const horse = Int32Array.from(keep, (i) => rows.horse[i]!);
  const at = Float64Array.from(new Set([...drawnDays(name === null ? 10 : 20), ...horizons])).sort();
  const drawn = name === null ? replicates : Math.max(50, Math.round(replicates / 2));
  return {
    level: name ?? 'all',
    where: allOf(spellWhere(problem), name === null || by === 'none' ? null : isLevel(by, name)),
    nHorses: new Set(horse).size,
    nFeet: new Set(keep.map((i) => rows.foot[i]!)).size,
    nSpells: keep.length,
    nLooks: pick(rows.looks).reduce((sum, n) => sum + n, 0),
    begun: beginBands({ left, right }, horse, { at, quantiles: [0.5], replicates: drawn, seed }),
    visitDate: kaplanMeier({
      time: right.map((r, i) => (r === Number.POSITIVE_INFINITY ? left[i]! : r)),
      event: Uint8Array.from(right, (r) => (r === Number.POSITIVE_INFINITY ? 0 : 1)),
    }),
    steady: name !== null && by === 'season' ? null : steadyReturn(rates, name, options),
  };
}

/** Steady rates of return of feet that have had the problem, of the herd and of each level: a two-state model seen at visits. */
export function steadyRates(pairs: ReturnPairs, by: RecurrenceOptions['by']): LevelRates[] {
  const rows = { ...pairs, groups: new Map([[by, pairs.level]]) };
  // A spell keeps the season in which it cleared, a trim cycle has its own: the two do not name the same feet.
  return levelRates(rows, pairCells(rows), by === 'season' ? 'none' : by);
}

function steadyReturn(
  rates: readonly LevelRates[],
  name: string | null,
  { problem, by }: RecurrenceOptions,
): Outcome<SteadyReturn> {
  const found = rates.find(({ level }) => level === name);
  // Spells there are, but no trim cycle graded at both ends.
  if (!found) return unavailable('no-rows', 'there are no records to work from.');
  if (isUnavailable(found.summary)) return found.summary;
  const { horses, feet, cycles } = found.seen;
  return {
    rate: found.summary.onsetRate,
    counts: { horses, feet, cycles },
    where: allOf(pairsWhere(problem), name === null || by === 'none' ? null : isLevel(by, name)),
  };
}

/** Levels against the commonest by Weibull regression on what lies between visits. */
export function returnRatios(rows: ClearSpells, by: Grouping): Outcome<ReturnRatios> {
  const every = code(rows.level);
  const keep = Array.from(rows.left.keys()).filter((i) => every.codes[i]! >= 0);
  const reference = every.levels.length === 0 ? -1 : commonest(every);
  const columns = levelColumns(by, every, reference);
  const fit = weibullInterval({
    left: Float64Array.from(keep, (i) => rows.left[i]!),
    right: Float64Array.from(keep, (i) => rows.right[i]!),
    x: designMatrix(columns, keep),
    terms: columns.names,
    cluster: Int32Array.from(keep, (i) => rows.horse[i]!),
  });
  if (isUnavailable(fit)) return fit;
  const byLevel = rowsByLevel(every);
  return {
    reference: every.levels[reference]!,
    levels: every.levels.filter((_, k) => k !== reference),
    fit,
    countsOf: new Map(
      every.levels.map((level, k) => {
        const both = k === reference ? byLevel[k]! : [...byLevel[k]!, ...byLevel[reference]!];
        const { horses, feet } = countOf(rows.horse, rows.foot, both);
        const looks = both.reduce((sum, i) => sum + rows.looks[i]!, 0);
        return [level, { horses, feet, cycles: looks, spells: both.length }];
      }),
    ),
  };
}
