import { isUnavailable, type Unavailable, unavailable } from '../../core/outcome.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { FEWEST_COMPARED } from '../few-horses.ts';
import { counted, countsText, figure, horsesText, interval95, percent, shareInterval95 } from '../format.ts';
import { groupingWords } from '../groups.ts';
import { type ShownRatio, toldRatio } from '../shown-ratio.ts';
import { type EntryAnswer, type EntryFit, risksOf, riskTitle, withWords } from './answer.ts';

/** With fewer onsets after the exposure the figure is left to the table. */
const FEWEST_ONSETS = 3;

export function entryFindings(answer: EntryAnswer): Finding[] {
  const pairs = pairsOf(answer);
  const named = (name: string): Pair[] =>
    pairs.filter(([{ question }]) => question.order === 'forward' && question.exposure.name === name);
  return [
    ...named('crack').map((pair) => wayIn(answer, pair)),
    ...byOrigin(pairs),
    ...named('coronet injury').map((pair) => wayIn(answer, pair)),
    ...named('separation').map((pair) => wayIn(answer, pair)),
    ...reverse(answer, pairs),
    ...uncertain(answer),
  ];
}

type Pair = readonly [told: EntryFit, crude: EntryFit];

const isTold = (fit: EntryFit): boolean =>
  toldRatio(fit.ratio)?.estimate != null &&
  fit.exposed.horses >= FEWEST_COMPARED &&
  fit.exposed.onsets >= FEWEST_ONSETS;

/** Each question: adjusted where that could be told, else as recorded; the crude one beside it. */
function pairsOf({ fits }: EntryAnswer): Pair[] {
  return fits.flatMap((crude): Pair[] => {
    if (crude.comparison !== 'crude') return [];
    const adjusted = fits.find((fit) => fit.comparison === 'adjusted' && fit.question === crude.question);
    const told = adjusted && isTold(adjusted) ? adjusted : crude;
    return isTold(told) ? [[told, crude]] : [];
  });
}

const ratioText = (fit: EntryFit, after = ''): string => {
  const { estimate, low, high } = toldRatio(fit.ratio)!;
  return `${figure(estimate!, 2)}${after} (${interval95(low!, high!, 2)})`;
};

const besideCrude = (told: EntryFit, crude: EntryFit): string =>
  told === crude || toldRatio(crude.ratio)?.estimate == null
    ? ''
    : `, against ${ratioText(crude, ' as recorded')}`;

function reading(fit: EntryFit): string {
  const { low, high } = toldRatio(fit.ratio)!;
  if (low! > 1) return 'the interval leaves out 1';
  return high! < 1 ? 'the interval lies below 1' : 'the interval holds 1, so it may be no different';
}

function wayIn({ options }: EntryAnswer, [told, crude]: Pair): Finding {
  const { question, exposed, all } = told;
  const label = problemLabel(question.outcome);
  const alike =
    told.comparison === 'adjusted'
      ? `with ${groupingWords(options.adjust)} held alike`
      : 'as recorded, with nothing held alike';
  const risks = risksOf(told);
  // Separation is set beside the others for comparison; its risks stand in the chart.
  const risk =
    risks && question.exposure.name !== 'separation'
      ? ` At ${figure(options.weeks)} weeks the estimated share affected is ${percent(risks.with.estimate, 1)} (${shareInterval95(risks.with.low, risks.with.high, 1)}) ${withWords(question, true)} and ${percent(risks.without.estimate, 1)} (${shareInterval95(risks.without.low, risks.without.high, 1)}) ${withWords(question, false)}.`
      : '';
  return {
    sentence: `${label.charAt(0).toUpperCase()}${label.slice(1)} began an estimated ${ratioText(told, ' times as often')} in clear feet ${withWords(question, true)} at the trim as in those ${withWords(question, false)}, ${alike}${besideCrude(told, crude)}; ${reading(told)}.${risk} ${counted(exposed.cycles, 'trim cycle', 'trim cycles')} of ${horsesText(exposed.horses)} began ${withWords(question, true)}, and ${figure(exposed.onsets)} of them ended with ${label}. From ${countsText(all)}.`,
    caution: CAUTIONS.record,
    behind: { relation: 'trim_cycle', where: told.where, title: riskTitle(question, '') },
  };
}

/** Cracks by where they start, each against feet without a crack. */
function byOrigin(pairs: readonly Pair[]): Finding[] {
  const told = pairs.filter(([{ question }]) => question.exposure.name.startsWith('crack from'));
  if (told.length === 0) return [];
  const parts = told.map(
    ([fit]) =>
      `${ratioText(fit, ` ${fit.question.exposure.name.replace('crack ', '')}`)}, ${counted(fit.exposed.cycles, 'trim cycle', 'trim cycles')} of ${horsesText(fit.exposed.horses)}`,
  );
  const [first] = told[0]!;
  return [
    {
      sentence: `By where the crack starts, each against no crack, times as often: ${parts.join('; ')}.`,
      caution: CAUTIONS.record,
      behind: { relation: 'trim_cycle', where: first.where, title: riskTitle(first.question, '') },
    },
  ];
}

/** The order of time turned round: if that ran as high, the two would merely keep company. */
function reverse({ options }: EntryAnswer, pairs: readonly Pair[]): Finding[] {
  const forward = pairs.find(
    ([{ question }]) => question.order === 'forward' && question.exposure.name === 'crack',
  );
  return pairs
    .filter(([{ question }]) => question.order === 'reverse' && question.outcome === 'crack')
    .map(([told, crude]) => {
      const both =
        ` ${orderWords(toldRatio(told.ratio)!, forward ? toldRatio(forward[0].ratio) : null)}`.trimEnd();
      return {
        sentence: `The order turned round, as a check: a crack began ${ratioText(told, ' times as often')} in feet ${withWords(told.question, true)} at the trim as in those ${withWords(told.question, false)}${besideCrude(told, crude)}; ${reading(told)}.${both} ${counted(told.exposed.cycles, 'trim cycle', 'trim cycles')} of ${horsesText(told.exposed.horses)} began with ${problemLabel(options.problem)} and no crack.`,
        caution: CAUTIONS.between_visits,
        behind: { relation: 'trim_cycle', where: told.where, title: riskTitle(told.question, '') },
      };
    });
}

/** An interval that holds 1 is no proof of 1: it must lie below that of the other order to say which comes first. */
function orderWords(turned: ShownRatio, forward: ShownRatio | null): string {
  if (turned.low! > 1) return 'So the two may keep company for some other reason.';
  if (!forward || forward.low === null || forward.low <= 1) return '';
  return turned.high! < forward.low
    ? 'As far as these records show, cracks tend to come before infection rather than after it.'
    : 'The intervals of the two orders overlap, so these records do not settle which of them tends to come first.';
}

/** Ways in after which nothing was seen: bounded from one side, never called safe. */
function uncertain({ fits }: EntryAnswer): Finding[] {
  return fits.flatMap((fit): Finding[] => {
    const ratio = toldRatio(fit.ratio);
    const { question, exposed, comparison, where } = fit;
    if (comparison !== 'crude' || !ratio || ratio.estimate !== null || ratio.high === null) return [];
    if (question.exposure.name.startsWith('crack from')) return [];
    return [
      {
        sentence: `No onset of ${problemLabel(question.outcome)} was seen in clear feet ${question.exposure.with} (${counted(exposed.cycles, 'trim cycle', 'trim cycles')} of ${horsesText(exposed.horses)}). That is not the same as none: the records leave room for up to ${figure(ratio.high, 2)} times the rate of the others (one-sided 95 % limit).`,
        caution: CAUTIONS.small_numbers,
        behind: { relation: 'trim_cycle', where, title: riskTitle(question, '') },
      },
    ];
  });
}

/** What gave no number, or too little for words, each with its sentence. */
export function entryRefusals({ fits }: EntryAnswer): Unavailable[] {
  const reason = ({ ratio }: EntryFit): Unavailable | null => (isUnavailable(ratio) ? ratio : null);
  return fits.flatMap((fit) => {
    const { question, comparison, exposed } = fit;
    const why = reason(fit);
    if (comparison === 'crude') {
      if (why) return [unavailable(why.unavailable, `${question.label}: ${why.sentence}`)];
      if (toldRatio(fit.ratio)?.estimate == null || isTold(fit)) return [];
      return [
        unavailable(
          'no-events',
          `${question.label}: ${counted(exposed.cycles, 'trim cycle', 'trim cycles')} of ${horsesText(exposed.horses)} began ${withWords(question, true)}, and ${figure(exposed.onsets)} of them ended with ${problemLabel(question.outcome)}, too few to compare in words.`,
        ),
      ];
    }
    const crude = fits.find((other) => other.question === question && other.comparison === 'crude')!;
    // Where the plain reading fails the adjusted one does too; and for all questions it mostly fails alike.
    return why && !reason(crude)
      ? [unavailable(why.unavailable, `with other things held alike: ${why.sentence}`)]
      : [];
  });
}
