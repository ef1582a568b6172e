import { isUnavailable, type Unavailable } from '../../core/outcome.ts';
import { type ProblemKey, problemLabel } from '../../herd/problems.ts';
import { coefficient } from '../../stats/predictor-fit.ts';
import { riskContrast } from '../../stats/standardise.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { countsText, figure, horsesText, interval95, percent, shareInterval95 } from '../format.ts';
import { groupingWords } from '../groups.ts';
import type { Comparison } from './alike.ts';
import type { IntervalAnswer } from './answer.ts';
import type { ComparisonFit } from './fits.ts';

/** The sentences; figures as the tables show them. */
export function intervalFindings(answer: IntervalAnswer): Finding[] {
  const { fits, where, options } = answer;
  const behind = {
    relation: 'trim_cycle' as const,
    where,
    title: `trim cycles that began clear of ${problemLabel(options.problem)}`,
  };
  const by = (comparison: Comparison): ComparisonFit | undefined =>
    fits.find((fit) => fit.comparison === comparison);
  const told = (sentence: string | null, caution: string | null): Finding[] =>
    sentence === null ? [] : [{ sentence, caution, behind }];
  // With too few horses to hold anything alike, the records as they are say more than nothing, if it is said.
  const adjusted = by('adjusted');
  const main = adjusted && !isUnavailable(adjusted.fit) ? adjusted : by('crude');
  return [
    ...told(riskSentence(answer, main), CAUTIONS.foot_first),
    ...told(
      exponentSentence(main, options.problem),
      main === adjusted ? null : CAUTIONS.intervals_not_by_lot,
    ),
    ...told(countedSentence(answer, main), CAUTIONS.intervals_not_by_lot),
    ...told(simplerSentence(answer, main), CAUTIONS.between_visits),
    ...told(sideBySide(fits), CAUTIONS.intervals_not_by_lot),
  ];
}

/** Risk at the shortest and longest week asked for, with their ratio. */
function riskSentence({ options, rows }: IntervalAnswer, main: ComparisonFit | undefined): string | null {
  if (!main || isUnavailable(main.risk)) return null;
  const { risk } = main;
  const told = options.weeks.flatMap((weeks) => {
    const at = risk.times.indexOf(weeks * 7);
    const r = risk.risk[at];
    return r
      ? [
          {
            weeks,
            at,
            text: `${percent(r.estimate, 1)} at ${weeks} weeks (${shareInterval95(r.low, r.high, 1)})`,
          },
        ]
      : [];
  });
  const first = told[0];
  const last = told.at(-1);
  if (!first || !last || first === last) return null;
  const { ratio } = riskContrast(risk, last.at, first.at);
  const held =
    main.comparison === 'crude' || options.adjust.length === 0
      ? ', as recorded, with nothing held alike'
      : `, with ${groupingWords(options.adjust)} held at the herd’s own mix`;
  return `Of feet left clear at a trim, an estimated share showed ${problemLabel(options.problem)} at the next visit: ${told.map((t) => t.text).join('; ')}. That is ${figure(ratio.estimate, 1)} times as many at ${last.weeks} as at ${first.weeks} weeks (${interval95(ratio.low, ratio.high, 1)})${held}. From ${countsText(rows.atRisk)} that began clear.`;
}

function exponentSentence(main: ComparisonFit | undefined, problem: ProblemKey): string | null {
  if (!main || isUnavailable(main.fit) || isUnavailable(main.fit.exponent)) return null;
  const { estimate, low, high } = main.fit.exponent;
  if (high < 1 && estimate < 0.25) {
    return `No sign that waiting longer went with more ${problemLabel(problem)} in these records: the risk grew with the days to the power ${figure(estimate, 2)} (${interval95(low, high, 2)}), where 1 would be in proportion and 0 no rise at all.`;
  }
  const reading =
    low > 1
      ? 'waiting longer went with more than a proportional rise in risk'
      : high < 1
        ? 'waiting longer went with less than a proportional rise in risk'
        : 'a rise in proportion to the days (exponent 1) fits these records too';
  return `The risk grew with the days since the trim to the power ${figure(estimate, 2)} (${interval95(low, high, 2)}): ${reading}.`;
}

/** Where no model answers, the shares as counted after the shortest and the longest intervals. */
function countedSentence(answer: IntervalAnswer, main: ComparisonFit | undefined): string | null {
  if (main && !isUnavailable(main.risk)) return null;
  const { bands } = answer;
  const first = bands[0];
  const last = bands.at(-1);
  if (!first || !last || first === last) return null;
  const words = ({ band, share, counts }: typeof first): string =>
    `${percent(share.estimate, 1)} of cycles of ${band} (${shareInterval95(share.low, share.high, 1)}, ${horsesText(counts.horses)})`;
  return `Whether waiting longer goes with more ${problemLabel(answer.options.problem)} cannot be told here with other things held alike. As counted, it was there at the next visit after ${words(first)} and after ${words(last)}.`;
}

/** Where the fuller model cannot be fitted, what counting problems seen at the next visit says. */
function simplerSentence({ options }: IntervalAnswer, main: ComparisonFit | undefined): string | null {
  if (!main || !isUnavailable(main.risk) || isUnavailable(main.check)) return null;
  const slope = coefficient(main.check, main.check.terms.length - 1);
  if (slope.kind !== 'estimated') return null;
  return `A simpler reckoning, which counts only ${problemLabel(options.problem)} still there at the next visit, has the risk grow with the days to the power ${figure(slope.estimate, 2)} (${interval95(slope.low, slope.high, 2)}).`;
}

function sideBySide(fits: readonly ComparisonFit[]): string | null {
  const told = fits.flatMap(({ comparison, fit }) =>
    isUnavailable(fit) || isUnavailable(fit.exponent)
      ? []
      : [
          {
            comparison,
            text: `${comparison} ${figure(fit.exponent.estimate, 2)} (${interval95(fit.exponent.low, fit.exponent.high, 2)})`,
            value: fit.exponent.estimate,
            low: fit.exponent.low,
            high: fit.exponent.high,
          },
        ],
  );
  const crude = told.find((t) => t.comparison === 'crude');
  const adjusted = told.find((t) => t.comparison === 'adjusted');
  if (!crude || !adjusted || told.length < 2) return null;
  const reading =
    crude.value > adjusted.high || crude.value < adjusted.low
      ? `so part of the crude figure may go with ${crude.value > adjusted.value ? 'the yards and seasons in which intervals run long' : 'which horses are seen often'}`
      : 'so holding ground, season and the like alike changes the answer by no more than chance allows';
  return `Three ways of comparing, as exponents: ${told.map((t) => t.text).join('; ')}; ${reading}.`;
}

const TOO_FEW =
  'too few feet got it or lost it between visits, among short or long intervals or among the groups held alike, to say how the risk grows with the days.';

/** Comparisons that gave no answer, each with its sentence. */
export function intervalRefusals({ fits, options }: IntervalAnswer): Unavailable[] {
  const label = problemLabel(options.problem);
  return fits.flatMap(({ comparison, fit, risk }) => {
    if (isUnavailable(fit)) {
      const why = fit.unavailable === 'no-overlap' ? TOO_FEW : fit.sentence;
      return [{ ...fit, sentence: `${label}, ${comparison}: ${why}` }];
    }
    if (isUnavailable(fit.exponent)) {
      return [{ ...fit.exponent, sentence: `${label}, ${comparison}: ${fit.exponent.sentence}` }];
    }
    if (isUnavailable(risk)) {
      return [
        { ...risk, sentence: `${label}, ${comparison}, risk by the weeks since the trim: ${risk.sentence}` },
      ];
    }
    return [];
  });
}
