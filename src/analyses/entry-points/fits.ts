import { isUnavailable, type Outcome, type Unavailable, unavailable } from '../../core/outcome.ts';
import type { ResetFit } from '../../stats/onset-since-reset.ts';
import { coefficient } from '../../stats/predictor-fit.ts';
import { type RiskCurve, standardisedResetRisk } from '../../stats/standardise.ts';
import { alikeRows } from '../alike-rows.ts';
import type { JobInput } from '../apart.ts';
import { designMatrix, INTERCEPT, levelColumns, sideBySide, usedColumns } from '../design-columns.ts';
import type { Grouping } from '../groups.ts';
import { type ShownRatio, shownRatio } from '../shown-ratio.ts';
import { atRiskWhere, type EntryRows, type SeenOnset, seenIn, usable } from './data.ts';
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
  question: Question,
  comparison: Comparison,
  near: ResetFit | null,
  fitted: (input: JobInput<'onset since reset'>) => Promise<Outcome<ResetFit>>,
): Promise<EntryFit> {
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
    fit: null,
  };
  const refused = refuse(told.exposed, told.unexposed, question);
  if (refused) return { ...told, ratio: refused, risk: refused };
  // Levels without a row at risk would run off by themselves. Of cycles that began with the outcome, the exposure is that of the same trim.
  const held =
    comparison === 'adjusted'
      ? Array.from(rows.groups, ([grouping, coded]) => usedColumns(levelColumns(grouping, coded), atRisk))
      : [];
  const design = sideBySide(
    INTERCEPT,
    { names: [question.exposure.name], at: [(row) => exposed[row]!] },
    ...held,
  );
  const { codes } = rows.mixes;
  const alone = new Int32Array(codes.length);
  const mix = comparison === 'adjusted' ? codes : alone;
  const kept = new Uint8Array(codes.length);
  for (const row of keep) kept[row] = 1;
  // Of rows left out anything may stand: they count for nothing.
  const covariates = new Float64Array(codes.length);
  const states = new Float64Array(codes.length);
  for (const row of keep) {
    covariates[row] = 2 * mix[row]! + exposed[row]!;
    states[row] = 4 * covariates[row]! + 2 * start[row]! + end[row]!;
  }
  const merged = alikeRows([states, rows.days], rows.horse, kept);
  const data = {
    start: merged.rows.map((row) => start[row]!),
    end: merged.rows.map((row) => end[row]!),
    time: merged.rows.map((row) => rows.days[row]!),
    onset: designMatrix(design, merged.rows),
    onsetTerms: design.names,
    clearing: new Float64Array(merged.rows.length).fill(1),
    clearingTerms: ['clearing'],
    cluster: merged.rows.map((row) => rows.horse[row]!),
    weight: merged.weight,
    alike: [merged.rows.map((row) => covariates[row]!)],
  };
  const fit = await fitted({ data, near: near ?? undefined });
  if (isUnavailable(fit)) return { ...told, ratio: fit, risk: fit };
  // The rest of a row is set, not read.
  const mixes = collapse(atRisk, (row) => mix[row]!);
  const at = (value: 0 | 1): Outcome<RiskCurve> => {
    const x = designMatrix(design, mixes.rows);
    for (let i = 0; i < mixes.rows.length; i++) x[i * design.names.length + 1] = value;
    const clearing = new Float64Array(mixes.rows.length).fill(1);
    return standardisedResetRisk(fit, { onset: x, clearing, weight: mixes.weight }, [options.weeks * 7]);
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

/** The first row of each key, and how many rows have it. */
function collapse(
  keep: readonly number[],
  keyOf: (row: number) => number,
): { rows: number[]; weight: number[] } {
  const place = new Map<number, number>();
  const rows: number[] = [];
  const weight: number[] = [];
  for (const row of keep) {
    const key = keyOf(row);
    const at = place.get(key);
    if (at === undefined) {
      place.set(key, rows.length);
      rows.push(row);
      weight.push(1);
    } else weight[at]! += 1;
  }
  return { rows, weight };
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
