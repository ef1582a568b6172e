import { isUnavailable, type Outcome, type Unavailable, unavailable } from '../../core/outcome.ts';
import { collapseRows } from '../../stats/cells.ts';
import { fitOnsetSinceReset, type ResetFit } from '../../stats/onset-since-reset.ts';
import { coefficient } from '../../stats/predictor-fit.ts';
import { type RiskCurve, standardisedResetRisk } from '../../stats/standardise.ts';
import type { TransitionCells } from '../../stats/transition-data.ts';
import { BEGAN, type CycleKinds, ENDED, levelsOfKinds } from '../cycle-kinds.ts';
import { type DesignColumns, designMatrix, INTERCEPT, sideBySide, usedColumns } from '../design-columns.ts';
import { transitionsOf } from '../onset-cells.ts';
import { type ShownRatio, shownRatio } from '../shown-ratio.ts';
import { type AlikeAsked, type SeenOnsets, STATES } from './asked.ts';
import type { Exposure } from './options.ts';

export const COMPARISONS = ['crude', 'adjusted'] as const;
export type Comparison = (typeof COMPARISONS)[number];

/** One question answered one way. */
export interface ComparisonFit extends SeenOnsets {
  readonly comparison: Comparison;
  /** Onset hazard with the exposure over that without. */
  readonly ratio: Outcome<ShownRatio>;
  /** Risk at the weeks asked for, at the herd's own mix: with, and without. */
  readonly risk: Outcome<{ readonly with: RiskCurve; readonly without: RiskCurve }>;
}

/** What is compared in which cycles. */
interface Compared {
  readonly comparison: Comparison;
  readonly exposure: Pick<Exposure, 'name' | 'with'>;
  readonly weeks: number;
  readonly kinds: CycleKinds;
  readonly alike: AlikeAsked;
  readonly seen: SeenOnsets;
}

/**
 * The exact two-state form of the interval effect, the exposure one more column of onset. The search begins at `near`, the
 * same question’s fit with nothing held alike. The whole fit comes as well, from which the next comparison sets out; null
 * where there is none.
 */
export function fitComparison(
  { comparison, exposure, weeks, kinds, alike, seen }: Compared,
  near: ResetFit | null,
): { readonly told: ComparisonFit; readonly fit: ResetFit | null } {
  const isAdjusted = comparison === 'adjusted';
  const untold = (why: Unavailable) => ({
    told: { comparison, ...seen, ratio: why, risk: why },
    fit: null,
  });
  const refused = refuse(seen, exposure);
  if (refused) return untold(refused);
  const atRisk = mixesAtRisk(kinds, alike, isAdjusted);
  const design = sideBySide(
    INTERCEPT,
    { names: [exposure.name], at: [(row) => alike.states[row]! >> 2] },
    // Levels without a row at risk would run off by themselves.
    ...(isAdjusted ? levelsOfKinds(kinds, alike.kind).map((levels) => usedColumns(levels, atRisk.rows)) : []),
  );
  const fit = fitOnsetSinceReset(cellsOf(kinds, alike, isAdjusted, design), near ? { near } : {});
  if (isUnavailable(fit)) return untold(fit);
  const at = (value: 0 | 1): Outcome<RiskCurve> => {
    // The rest of a row is set, not read.
    const x = designMatrix(design, atRisk.rows);
    for (let i = 0; i < atRisk.rows.length; i++) x[i * design.names.length + 1] = value;
    const clearing = new Float64Array(atRisk.rows.length).fill(1);
    return standardisedResetRisk(fit, { onset: x, clearing, weight: atRisk.weight }, [weeks * 7]);
  };
  const [withIt, without] = [at(1), at(0)];
  const why = [withIt, without].find((risk) => isUnavailable(risk));
  return {
    told: {
      comparison,
      ...seen,
      ratio: shownRatio(coefficient(fit, 1)),
      risk: why ? (why as Unavailable) : { with: withIt as RiskCurve, without: without as RiskCurve },
    },
    fit,
  };
}

/** Of cycles that began with the outcome, the exposure is that of the same trim. */
function cellsOf(
  { days, day, mix, mixes }: CycleKinds,
  { weight, states, kind, horse }: AlikeAsked,
  isAdjusted: boolean,
  design: DesignColumns,
): TransitionCells {
  const code = new Int32Array(kind.length);
  const counts = isAdjusted ? new Float64Array(kind.length) : weight;
  for (let row = 0; row < code.length; row++) {
    const of = kind[row]!;
    code[row] = STATES * (isAdjusted ? of : day[of]!) + states[row]!;
    if (isAdjusted && mixes.isKnown[mix[of]!] === 1) counts[row] = weight[row]!;
  }
  const cells = collapseRows([code], horse, counts);
  const { firstRow } = cells;
  const ofCells = {
    start: Float64Array.from(firstRow, (row) => (states[row]! & BEGAN) >> 1),
    end: Float64Array.from(firstRow, (row) => states[row]! & ENDED),
    days: Float64Array.from(firstRow, (row) => days[kind[row]!]!),
  };
  return transitionsOf(cells, ofCells, design);
}

/**
 * One row of each mix that began clear somewhere, and in how many cycles it did; in the order of the rows. Where nothing
 * is held alike every row is of one mix.
 */
function mixesAtRisk(
  { mix, mixes: { count, isKnown } }: CycleKinds,
  { weight, states, kind }: AlikeAsked,
  isAdjusted: boolean,
): { readonly rows: readonly number[]; readonly weight: readonly number[] } {
  const times = new Float64Array(count);
  const first: number[] = [];
  const mixes: number[] = [];
  for (let row = 0; row < kind.length; row++) {
    const of = isAdjusted ? mix[kind[row]!]! : 0;
    if ((states[row]! & BEGAN) !== 0 || (isAdjusted && isKnown[of] === 0)) continue;
    if (times[of] === 0) {
      first.push(row);
      mixes.push(of);
    }
    times[of]! += weight[row]!;
  }
  return { rows: first, weight: mixes.map((of) => times[of]!) };
}

function refuse({ exposed, unexposed }: SeenOnsets, exposure: Pick<Exposure, 'with'>): Unavailable | null {
  if (exposed.cycles + unexposed.cycles === 0) {
    return unavailable('no-rows', 'no trim cycle here has both recorded.');
  }
  if (exposed.cycles === 0) {
    return unavailable('no-overlap', `no clear foot ${exposure.with} is on record: no evidence here.`);
  }
  if (unexposed.cycles === 0) {
    return unavailable('no-overlap', `every clear foot on record is one ${exposure.with}: no evidence here.`);
  }
  if (exposed.horses < 2) {
    return unavailable(
      'one-cluster',
      `all clear feet ${exposure.with} are of one horse, so how far horses differ cannot be judged.`,
    );
  }
  return null;
}
