import { isUnavailable, type Outcome, type Unavailable, unavailable } from '../../core/outcome.ts';
import { fitOnsetSinceReset } from '../../stats/onset-since-reset.ts';
import { type Coefficient, coefficient } from '../../stats/predictor-fit.ts';
import { type RiskCurve, standardisedResetRisk } from '../../stats/standardise.ts';
import { type DesignColumns, designMatrix, INTERCEPT, levelColumns, sideBySide } from '../design-columns.ts';
import type { Grouping } from '../groups.ts';
import { atRiskWhere, type EntryRows, type SeenOnset, seenIn, usable } from './data.ts';
import type { EntryOptions, Question } from './options.ts';

export const COMPARISONS = ['crude', 'adjusted'] as const;
export type Comparison = (typeof COMPARISONS)[number];

/** One question answered one way. */
export interface EntryFit {
  readonly question: Question;
  readonly comparison: Comparison;
  /** Log of the onset hazard with the exposure over that without. */
  readonly ratio: Outcome<Coefficient>;
  /** Risk at the weeks asked for, at the herd's own mix: with, and without. */
  readonly risk: Outcome<{ readonly with: RiskCurve; readonly without: RiskCurve }>;
  /** Of the cycles that began clear. */
  readonly all: SeenOnset;
  readonly exposed: SeenOnset;
  readonly unexposed: SeenOnset;
  readonly where: string;
}

/** The exact two-state form of the interval effect, the exposure one more column of onset. */
export function entryFit(
  rows: EntryRows,
  options: EntryOptions,
  question: Question,
  comparison: Comparison,
): EntryFit {
  const alike: readonly Grouping[] = comparison === 'adjusted' ? options.adjust : [];
  const keep = usable(rows, question, comparison === 'adjusted');
  const start = rows.start.get(question.outcome)!;
  const end = rows.end.get(question.outcome)!;
  const exposed = rows.exposed.get(question.exposure.name)!;
  const atRisk = keep.filter((row) => start[row] === 0);
  const told = {
    question,
    comparison,
    all: seenIn(rows, question, atRisk),
    exposed: seenIn(
      rows,
      question,
      atRisk.filter((row) => exposed[row] === 1),
    ),
    unexposed: seenIn(
      rows,
      question,
      atRisk.filter((row) => exposed[row] === 0),
    ),
    where: atRiskWhere(question, alike),
  };
  const refused = refuse(told.exposed, told.unexposed, question);
  if (refused) return { ...told, ratio: refused, risk: refused };
  // Of cycles that began with the outcome, the exposure is that of the same trim.
  const held =
    comparison === 'adjusted'
      ? Array.from(rows.groups, ([grouping, coded]) => onlyUsed(levelColumns(grouping, coded), atRisk))
      : [];
  const design = sideBySide(
    INTERCEPT,
    { names: [question.exposure.name], at: [(row) => exposed[row]!] },
    ...held,
  );
  const fit = fitOnsetSinceReset({
    start: keep.map((row) => start[row]!),
    end: keep.map((row) => end[row]!),
    time: keep.map((row) => rows.days[row]!),
    onset: designMatrix(design, keep),
    onsetTerms: design.names,
    clearing: new Float64Array(keep.length).fill(1),
    clearingTerms: ['clearing'],
    cluster: keep.map((row) => rows.horse[row]!),
  });
  if (isUnavailable(fit)) return { ...told, ratio: fit, risk: fit };
  const at = (value: 0 | 1): Outcome<RiskCurve> => {
    const x = designMatrix(design, atRisk);
    for (let i = 0; i < atRisk.length; i++) x[i * design.names.length + 1] = value;
    return standardisedResetRisk(fit, { onset: x, clearing: new Float64Array(atRisk.length).fill(1) }, [
      options.weeks * 7,
    ]);
  };
  const [withIt, without] = [at(1), at(0)];
  const why = [withIt, without].find((risk) => isUnavailable(risk));
  return {
    ...told,
    ratio: coefficient(fit, 1),
    risk: why ? (why as Unavailable) : { with: withIt as RiskCurve, without: without as RiskCurve },
  };
}

/** Levels without a row at risk would run off by themselves. */
function onlyUsed({ names, at }: DesignColumns, keep: readonly number[]): DesignColumns {
  const used = at.map((value) => keep.some((row) => value(row) !== 0));
  return { names: names.filter((_, j) => used[j]), at: at.filter((_, j) => used[j]) };
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
