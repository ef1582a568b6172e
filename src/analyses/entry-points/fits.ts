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
  levelColumns,
  sideBySide,
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
  NOT_ASKED,
  type SeenOnset,
  seenOnsets,
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
    ...seenOnsets(rows, asked, isAdjusted),
    where: atRiskWhere(question, isAdjusted ? options.adjust : []),
    fit: null,
  };
  const refused = refuse(told.exposed, told.unexposed, question);
  if (refused) return { ...told, ratio: refused, risk: refused };
  const mixes = isAdjusted ? rows.mixes : oneMix(rows);
  const atRisk = mixesAtRisk(mixes, asked);
  const design = sideBySide(
    INTERCEPT,
    { names: [question.exposure.name], at: [(row) => asked.states[row]! >> 2] },
    ...(isAdjusted ? heldAlike(rows, atRisk.rows) : []),
  );
  const fit = await fitted({ data: cellsOf(rows, asked, mixes, design), near: near ?? undefined });
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

/** Nothing held alike: every row is of one mix. */
const oneMix = ({ days }: EntryRows): GroupMixes => ({
  codes: new Int32Array(days.length),
  count: 1,
  rows: new Int32Array(1),
  isKnown: new Uint8Array(1).fill(1),
});

/** Levels without a row at risk would run off by themselves. */
const heldAlike = (rows: EntryRows, atRisk: readonly number[]): DesignColumns[] =>
  Array.from(rows.groups, ([grouping, coded]) => usedColumns(levelColumns(grouping, coded), atRisk));

/** Of cycles that began with the outcome, the exposure is that of the same trim. */
function cellsOf(
  { days, horse }: EntryRows,
  { states, start, end }: AskedRows,
  { codes, isKnown }: GroupMixes,
  design: DesignColumns,
): TransitionCells {
  const weight = new Uint8Array(states.length);
  const columns = [new Float64Array(states.length), new Float64Array(states.length)] as const;
  const [mixedStates, kept] = columns;
  for (let row = 0; row < states.length; row++) {
    // Of rows left out anything may stand: they count for nothing.
    if (states[row] === NOT_ASKED || isKnown[codes[row]!] === 0) continue;
    weight[row] = 1;
    mixedStates[row] = 2 * EXPOSED * codes[row]! + states[row]!;
    kept[row] = days[row]!;
  }
  return onsetCells({ start, end, days, horse }, columns, design, weight);
}

/** One row of each mix that began clear somewhere, and in how many cycles it did; in the order of the rows. */
function mixesAtRisk(
  { codes, count, isKnown }: GroupMixes,
  { states }: AskedRows,
): { readonly rows: readonly number[]; readonly weight: readonly number[] } {
  const times = new Float64Array(count);
  const rows: number[] = [];
  for (let row = 0; row < states.length; row++) {
    const mix = codes[row]!;
    if ((states[row]! & BEGAN) !== 0 || isKnown[mix] === 0) continue;
    if (times[mix] === 0) rows.push(row);
    times[mix]! += 1;
  }
  return { rows, weight: rows.map((row) => times[codes[row]!]!) };
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
