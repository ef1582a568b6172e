import { isUnavailable, type Unavailable } from '../../core/outcome.ts';
import { problemLabel } from '../../herd/problems.ts';
import { riskContrast } from '../../stats/standardise.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { countsText, figure, interval95, percent, shareInterval95 } from '../format.ts';
import { groupingWords } from '../groups.ts';
import type { IntervalAnswer } from './answer.ts';
import type { Comparison, ComparisonFit } from './fits.ts';

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
    ...told(exponentSentence(main), main === adjusted ? null : CAUTIONS.intervals_not_by_lot),
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

function exponentSentence(main: ComparisonFit | undefined): string | null {
  if (!main || isUnavailable(main.fit) || isUnavailable(main.fit.exponent)) return null;
  const { estimate, low, high } = main.fit.exponent;
  const reading =
    low > 1
      ? 'waiting longer went with more than a proportional rise in risk'
      : high < 1
        ? 'waiting longer went with less than a proportional rise in risk'
        : 'a rise in proportion to the days (exponent 1) fits these records too';
  return `The risk grew with the days since the trim to the power ${figure(estimate, 2)} (${interval95(low, high, 2)}): ${reading}.`;
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
          },
        ],
  );
  const crude = told.find((t) => t.comparison === 'crude');
  const adjusted = told.find((t) => t.comparison === 'adjusted');
  if (!crude || !adjusted || told.length < 2) return null;
  const apart = Math.abs(crude.value - adjusted.value);
  const reading =
    apart < 0.1
      ? 'so who books late hardly changes the answer here'
      : `so part of what the crude figure lays at the interval’s door seems to go with ${crude.value > adjusted.value ? 'the yards and seasons in which intervals run long' : 'which horses are seen often'}`;
  return `Three ways of comparing, as exponents: ${told.map((t) => t.text).join('; ')}; ${reading}.`;
}

/** Comparisons that gave no answer, each with its sentence. */
export function intervalRefusals({ fits, options }: IntervalAnswer): Unavailable[] {
  const label = problemLabel(options.problem);
  return fits.flatMap(({ comparison, fit }) => {
    if (isUnavailable(fit)) return [{ ...fit, sentence: `${label}, ${comparison}: ${fit.sentence}` }];
    if (isUnavailable(fit.exponent)) {
      return [{ ...fit.exponent, sentence: `${label}, ${comparison}: ${fit.exponent.sentence}` }];
    }
    return [];
  });
}
