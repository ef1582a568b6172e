import { isUnavailable, type Unavailable } from '../../core/outcome.ts';
import type { Analysis, AnalysisContext, AnalysisResult, AskContext } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { figure, interval95 } from '../format.ts';
import { isMm, type LengthWords, lengthWords } from '../lengths.ts';
import { recordedInCycles } from '../recorded.ts';
import { tidyTable } from '../tidy.ts';
import { type GrowthAnswer, type HerdFigures, herdFigures } from './answer.ts';
import { asymmetryFinding, growthAsymmetry, pairDifferences } from './asymmetry.ts';
import { type GrowthRows, growthConditions, growthGroupings, growthWhere } from './data.ts';
import { growthFindings } from './findings.ts';
import { fittedGrowth, lagOf, spreadsOf } from './fit.ts';
import { type GrowthOptions, MEASURES, optionsSchema } from './options.ts';
import { growthEstimates, growthLevels, growthPerHorse, growthSeason } from './tables.ts';

/**
 * Net growth between trims, mm per 30 days of 24 hours: amounts through the origin with random rates by horse and
 * foot, season integrated over each cycle. Flagged cycles are left out and counted.
 */
export const growth: Analysis<GrowthOptions> = {
  name: 'growth',
  title: 'Growth',
  question: 'How fast do the feet grow between trims?',
  options: optionsSchema,
  async run(options, context) {
    const { answer, result } = await changeBetweenTrims('growth', options, context);
    if (!answer) return result;
    const pairs = pairDifferences(answer);
    const known = isUnavailable(pairs) ? [] : pairs;
    return {
      ...result,
      tables: [...result.tables, growthAsymmetry(answer, known)],
      findings: [...result.findings, ...asymmetryFinding(answer, known, lengthWords(context.lengths))],
      unavailable: isUnavailable(pairs) ? [...result.unavailable, pairs] : result.unavailable,
    };
  },
};

/** The mixed model of one measure's change between trims, with what every such answer shows. */
export async function changeBetweenTrims(
  analysis: GrowthAnswer['analysis'],
  options: GrowthOptions,
  context: AnalysisContext,
): Promise<{ answer: GrowthAnswer | null; result: AnalysisResult }> {
  const { progress } = context;
  const asked = growthGroupings(options);
  const recorded = await recordedInCycles(context, growthConditions(options), growthWhere(options), asked);
  const kept = (grouping: GrowthOptions['by']): boolean =>
    grouping !== 'none' && recorded.kept.includes(grouping);
  const adjust = options.adjust.filter(kept);
  const whole: GrowthOptions = { ...options, by: 'none', adjust };
  const split: GrowthOptions = { ...options, by: kept(options.by) ? options.by : 'none', adjust };
  const { term } = MEASURES[options.measure];
  progress(0.2, `Fitting ${term}`);
  // The herd's own figures hold alike what the groups' do, and are the same whatever groups are compared.
  const found = await herdOf(analysis, whole, split.by === 'none', context);
  if ('why' in found) return { answer: null, result: empty(analysis, found.rows, found.why, term) };
  const { herd } = found;
  progress(0.6, `Fitting ${term} by group`);
  const compared = found.compared ?? (await answerOf(analysis, split, context));
  const refused = [...found.refused, ...('why' in compared ? [compared.why] : [])];
  const shown = 'why' in compared ? await answered(analysis, herd.options, context) : compared;
  const answer: GrowthAnswer = { ...shown, spreads: await spreadsOf(shown, context) };
  return {
    answer,
    result: {
      ...frame(analysis, herd.rows),
      tables: [
        growthEstimates(answer, herd),
        growthLevels(answer),
        growthPerHorse(answer),
        growthSeason(herd),
      ],
      findings: [...growthFindings(answer, herd, wordsFor(options, context)), ...recorded.leftOut],
      unavailable: [
        ...recorded.notes,
        ...refused,
        ...answer.design.notes,
        ...answer.spreads.flatMap(({ sd }) => (isUnavailable(sd) ? [sd] : [])),
      ],
      assumes: assumptions(answer),
    },
  };
}

/** An angle is read in degrees whatever the lengths are read in, and its sentences are not worked out again for them. */
function wordsFor({ measure }: GrowthOptions, context: AnalysisContext): LengthWords {
  return lengthWords(isMm(MEASURES[measure].unit) ? context.lengths : 'mm');
}

interface Refused {
  readonly rows: Pick<GrowthRows, 'days' | 'counts'>;
  readonly why: Unavailable;
}

type Answered = GrowthAnswer | Refused;

interface HerdAnswered {
  readonly herd: HerdFigures;
  readonly refused: readonly Unavailable[];
  /** The herd itself, where it is all that is compared. */
  readonly compared: GrowthAnswer | null;
}

/**
 * The herd's own figures, with what is asked held alike or else as they are. By itself, so that groups are fitted without
 * its rows beside theirs.
 */
async function herdOf(
  analysis: GrowthAnswer['analysis'],
  whole: GrowthOptions,
  isAll: boolean,
  context: AskContext,
): Promise<HerdAnswered | Refused> {
  const held = await answerOf(analysis, whole, context);
  const crude = (): Promise<Answered> => answerOf(analysis, { ...whole, adjust: [] }, context);
  const herd = 'why' in held && whole.adjust.length > 0 ? await crude() : held;
  if ('why' in herd) return herd;
  return {
    herd: herdFigures(herd),
    refused: 'why' in held ? [held.why] : [],
    compared: isAll && 'fit' in held ? held : null,
  };
}

/** What was answered before, asked again: it was let go of, and groups of it could not be told apart. */
async function answered(
  analysis: GrowthAnswer['analysis'],
  options: GrowthOptions,
  context: AskContext,
): Promise<GrowthAnswer> {
  const again = await answerOf(analysis, options, context);
  if ('why' in again) throw new Error(`the same rows must be fitted again: ${again.why.sentence}`);
  return again;
}

/** The model over the rows that its groupings leave; with the rows and why where it cannot be fitted. */
async function answerOf(
  analysis: GrowthAnswer['analysis'],
  options: GrowthOptions,
  context: AskContext,
): Promise<Answered> {
  const { rows, design, fit, where } = await fittedGrowth(options, context);
  if (isUnavailable(fit)) return { rows, why: fit };
  return { analysis, options, rows, design, fit, where, spreads: [], lag: lagOf(rows, design, fit) };
}

function frame(
  analysis: GrowthAnswer['analysis'],
  rows: Pick<GrowthRows, 'counts'>,
): Pick<AnalysisResult, 'analysis' | 'cautions' | 'method' | 'counts'> {
  return {
    analysis,
    cautions: [CAUTIONS.small_numbers, CAUTIONS.record],
    method: {
      name: 'Mixed model of the change through the origin, fitted by restricted maximum likelihood (REML)',
      source: 'Patterson & Thompson 1971, Biometrika 58:545–554; Robinson 1991, Stat Sci 6:15–32',
      doc: analysis === 'growth' ? 'docs/methods/growth.md' : 'docs/methods/angle-drift.md',
    },
    counts: rows.counts,
  };
}

function empty(
  analysis: GrowthAnswer['analysis'],
  rows: Refused['rows'],
  why: Unavailable,
  term: string,
): AnalysisResult {
  return {
    ...frame(analysis, rows),
    tables: [tidyTable(analysis, term, [])],
    findings: [],
    unavailable: [{ ...why, sentence: emptySentence(rows, why, term) }],
    assumes: [],
  };
}

function emptySentence({ days }: Refused['rows'], why: Unavailable, term: string): string {
  return days.length === 0
    ? `no trim cycle here has the measure after a trim and again at the next visit, so ${term} cannot be worked out.`
    : `${term} cannot be estimated: ${why.sentence}`;
}

function assumptions({ fit, design, lag, options }: GrowthAnswer): string[] {
  const given = [
    options.measure === 'angle'
      ? 'The toe angle is read the same way before and after every trim; each reading carries an error of its own.'
      : `The ${options.measure} is measured to the same two points before and after every trim; each reading carries an error of its own.`,
    'The change over a cycle is in proportion to its days; it differs by horse and by foot around the group’s mean.',
    'A rate is for 30 days; divide by 30 for a day.',
  ];
  if (design.season)
    given.push('One yearly rise and fall, the same for all horses, weighed over each whole cycle.');
  if (fit.method === 'least-squares')
    given.push('One horse, or no repeats: plain least squares, nothing pooled.');
  if (!isUnavailable(lag) && !lag.sharedEnds) {
    given.push(
      `Neighbouring changes of a foot share no measuring error: looked for by their correlation, ${figure(lag.estimate, 2)} (${interval95(lag.low, lag.high, 2)}), where shared readings would give about −0.5.`,
    );
  }
  return given;
}
