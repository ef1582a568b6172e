import { isUnavailable, type Outcome, type Unavailable, unavailable } from '../../core/outcome.ts';
import type { ResetFit } from '../../stats/onset-since-reset.ts';
import { coefficient } from '../../stats/predictor-fit.ts';
import { type RiskCurve, standardisedResetRisk } from '../../stats/standardise.ts';
import type { TransitionCells } from '../../stats/transition-data.ts';
import type { JobInput } from '../apart.ts';
import {
  type DesignColumns,
  designMatrix,
  INTERCEPT,
  sideBySide,
  throughRows,
  usedColumns,
} from '../design-columns.ts';
import { onsetCells } from '../onset-cells.ts';
import { type ShownRatio, shownRatio } from '../shown-ratio.ts';
import {
  type AskedRows,
  atRiskWhere,
  BEGAN,
  type EntryRows,
  EXPOSED,
  type GroupMixes,
  type SeenOnset,
} from './data.ts';
import type { EntryOptions, Question } from './options.ts';

export const COMPARISONS = ['crude', 'adjusted'] as const;
type Comparison = (typeof COMPARISONS)[number];

/** One question answered one way. */
export interface EntryFit {
  readonly question: Question;
  readonly comparison: Comparison;
  /** Onset hazard with the exposure over that without. */
  readonly ratio: Outcome<ShownRatio>;
  /** Risk at the weeks asked for, at the herd's own mix: with, and without. */
  readonly risk: Outcome<{ readonly with: RiskCurve; readonly without: RiskCurve }>;
  /** Of the cycles that began clear. */
  readonly all: SeenOnset;
  readonly exposed: SeenOnset;
  readonly unexposed: SeenOnset;
  readonly where: string;
  /** The whole fit, from which the next comparison sets out; null where there is none. */
  readonly fit: ResetFit | null;
}

/**
 * The exact two-state form of the interval effect, the exposure one more column of onset. The search begins at `near`, the
 * same question’s fit with nothing held alike.
 */
export async function entryFit(
  rows: EntryRows,
  options: EntryOptions,
  asked: AskedRows,
  comparison: Comparison,
  near: ResetFit | null,
  fitted: (input: JobInput<'onset since reset'>) => Promise<Outcome<ResetFit>>,
): Promise<EntryFit> {
  const { question } = asked;
  const isAdjusted = comparison === 'adjusted';
  const told = {
    question,
    comparison,
    ...asked.seen[comparison],
    where: atRiskWhere(question, isAdjusted ? options.adjust : []),
    fit: null,
  };
  const refused = refuse(told.exposed, told.unexposed, question);
  if (refused) return { ...told, ratio: refused, risk: refused };
  const atRisk = mixesAtRisk(rows.mixes, asked, isAdjusted);
  const design = sideBySide(
    INTERCEPT,
    { names: [question.exposure.name], at: [(row) => asked.states[row]! >> 2] },
    // Levels without a row at risk would run off by themselves.
    ...(isAdjusted ? rows.levels.map((levels) => usedColumns(levels, atRisk.rows)) : []),
  );
  const fit = await fitted({ data: cellsOf(rows.mixes, asked, isAdjusted, design), near: near ?? undefined });
  if (isUnavailable(fit)) return { ...told, ratio: fit, risk: fit };
  const at = (value: 0 | 1): Outcome<RiskCurve> => {
    // The rest of a row is set, not read.
    const x = designMatrix(design, atRisk.rows);
    for (let i = 0; i < atRisk.rows.length; i++) x[i * design.names.length + 1] = value;
    const clearing = new Float64Array(atRisk.rows.length).fill(1);
    return standardisedResetRisk(fit, { onset: x, clearing, weight: atRisk.weight }, [options.weeks * 7]);
  };
  const [withIt, without] = [at(1), at(0)];
  const why = [withIt, without].find((risk) => isUnavailable(risk));
  return {
    ...told,
    fit,
    ratio: shownRatio(coefficient(fit, 1)),
    risk: why ? (why as Unavailable) : { with: withIt as RiskCurve, without: without as RiskCurve },
  };
}

/** Of cycles that began with the outcome, the exposure is that of the same trim. */
function cellsOf(
  { isKnown }: GroupMixes,
  { alike }: AskedRows,
  isAdjusted: boolean,
  design: DesignColumns,
): TransitionCells {
  const { rows, weight, states, mix, days } = alike;
  const ofModel = throughRows(design, rows);
  if (!isAdjusted) return onsetCells(alike, [states, days], ofModel, weight);
  const mixedStates = new Float64Array(rows.length);
  const known = new Float64Array(rows.length);
  for (let i = 0; i < rows.length; i++) {
    mixedStates[i] = 2 * EXPOSED * mix[i]! + states[i]!;
    known[i] = isKnown[mix[i]!] === 1 ? weight[i]! : 0;
  }
  return onsetCells(alike, [mixedStates, days], ofModel, known);
}

/**
 * One row of each mix that began clear somewhere, and in how many cycles it did; in the order of the rows. Where nothing
 * is held alike every row is of one mix.
 */
function mixesAtRisk(
  { count, isKnown }: GroupMixes,
  { alike: { rows, weight, states, mix } }: AskedRows,
  isAdjusted: boolean,
): { readonly rows: readonly number[]; readonly weight: readonly number[] } {
  const times = new Float64Array(count);
  const first: number[] = [];
  const mixes: number[] = [];
  for (let i = 0; i < rows.length; i++) {
    const of = isAdjusted ? mix[i]! : 0;
    if ((states[i]! & BEGAN) !== 0 || (isAdjusted && isKnown[of] === 0)) continue;
    if (times[of] === 0) {
      first.push(rows[i]!);
      mixes.push(of);
    }
    times[of]! += weight[i]!;
  }
  return { rows: first, weight: mixes.map((of) => times[of]!) };
}

function refuse(exposed: SeenOnset, unexposed: SeenOnset, { exposure }: Question): Unavailable | null {
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
