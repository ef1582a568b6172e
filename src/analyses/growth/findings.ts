import { dayFromIso, partsOfDay } from '../../core/civil-day.ts';
import { type Estimate, isUnavailable } from '../../core/outcome.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { comparable, fewHorses } from '../few-horses.ts';
import { countsText, figure, horsesText, interval95 } from '../format.ts';
import { groupingName, groupingWords } from '../groups.ts';
import type { LengthWords } from '../lengths.ts';
import type { GrowthAnswer, HerdFigures } from './answer.ts';
import { MEASURES } from './options.ts';
import { seasonSummary } from './season.ts';
import { herdRate, levelRates } from './tables.ts';

const MONTHS = [
  'January',
  'February',
  'March',
  'April',
  'May',
  'June',
  'July',
  'August',
  'September',
  'October',
  'November',
  'December',
];

/** `12 August` for a day of the year (1–365). */
function dayOfYearWords(day: number): string {
  const first = dayFromIso('2001-01-01')!;
  const turned = (((Math.round(day) - 1) % 365) + 365) % 365;
  const { month, dayOfMonth } = partsOfDay(first + turned);
  return `${dayOfMonth} ${MONTHS[month - 1]}`;
}

/**
 * The sentences; figures as the tables show them, lengths in the words given. `herd` is the same question asked of all
 * horses together.
 */
export function growthFindings(answer: GrowthAnswer, herd: HerdFigures, words: LengthWords): Finding[] {
  const { options, where } = herd;
  const { term } = MEASURES[options.measure];
  const behind = { relation: 'trim_cycle' as const, where, title: `${term}, all horses` };
  const plain = (sentence: string, caution: string | null = null): Finding => ({ sentence, caution, behind });
  return [
    plain(headline(herd, words)),
    ...byLevel(answer, words),
    ...seasonSentence(herd, words).map((sentence) => plain(sentence)),
    ...spreadSentence(answer, words).map((sentence) => plain(sentence, CAUTIONS.small_numbers)),
    ...lagSentence(herd).map((sentence) => plain(sentence)),
  ];
}

function headline(answer: HerdFigures, words: LengthWords): string {
  const { options, rows } = answer;
  const { title, unit } = MEASURES[options.measure];
  const whole = herdRate(answer);
  const from = `from ${countsText(rows.counts)}`;
  if (options.measure === 'angle')
    return `Between trims the toe angle ${movement(whole, unit, words)}, ${from}.`;
  return `${title} averaged ${words.quantity(whole.estimate, unit, 2)} (${words.interval95(whole.low, whole.high, unit, 2)}), ${from}.`;
}

/** Rise and fall in words, so that a minus sign need not be read into them. */
function movement({ estimate, low, high }: Estimate, unit: string, words: LengthWords): string {
  const told = (by: number, from: number, to: number): string =>
    `${words.quantity(by, unit, 2)} on average (${words.interval95(from, to, unit, 2)})`;
  if (low > 0) return `rose by ${told(estimate, low, high)}`;
  if (high < 0) return `fell by ${told(-estimate, -high, -low)}`;
  return `changed by ${told(estimate, low, high)}, so that it may have risen or fallen`;
}

function byLevel(answer: GrowthAnswer, words: LengthWords): Finding[] {
  const { by, measure } = answer.options;
  if (by === 'none') return [];
  const { term, unit } = MEASURES[measure];
  const levels = levelRates(answer);
  const behind = {
    relation: 'trim_cycle' as const,
    where: answer.where,
    title: `${term} by ${groupingName(by)}`,
  };
  const few = fewHorses(by, levels, behind);
  const sorted = comparable(levels).sort((a, b) => b.rate.estimate - a.rate.estimate);
  const most = sorted[0];
  const least = sorted.at(-1);
  if (!most || !least || most === least) return few;
  const of = ({ level, rate, counts }: typeof most): string =>
    `${level} ${words.figure(rate.estimate, unit, 2)} (${words.interval95(rate.low, rate.high, unit, 2)}, ${horsesText(counts.horses)})`;
  const apart = most.rate.low > least.rate.high;
  return [
    {
      sentence: `By ${groupingName(by)}, ${term} in ${words.unit(unit)} runs from ${of(least)} to ${of(most)}; ${apart ? 'their intervals do not overlap' : 'their intervals overlap, so the order may be chance'}.`,
      caution: CAUTIONS.record,
      behind,
    },
    ...few,
  ];
}

function seasonSentence(answer: HerdFigures, words: LengthWords): string[] {
  const season = seasonSummary(answer);
  if (!season) return [];
  const { amplitude, peakDay } = season;
  const { unit } = MEASURES[answer.options.measure];
  const isAngle = answer.options.measure === 'angle';
  const size = words.range(amplitude.low, amplitude.high, unit, 2);
  if (!peakDay) {
    return [
      `No yearly rise and fall of ${isAngle ? 'the drift' : 'growth'} stood out: it may lie anywhere from ${size} ${words.unit(unit)} either side of the mean (95 % interval).`,
    ];
  }
  return [
    `${whatRises(answer)} rose and fell through the year by ${words.quantity(amplitude.estimate, unit, 2)} either side of its mean (${words.interval95(amplitude.low, amplitude.high, unit, 2)}), ${isAngle ? 'highest' : 'fastest'} about ${dayOfYearWords(peakDay.estimate)} (95 % ${dayOfYearWords(peakDay.low)} to ${dayOfYearWords(peakDay.high)}).`,
  ];
}

/** Whether the ground's own seasons are in the rise and fall, or held alike. */
function whatRises({ options: { measure, adjust } }: HerdFigures): string {
  const held = adjust.length === 0 ? '' : `, with ${groupingWords(adjust)} held alike,`;
  if (measure === 'angle') return `The drift${held}`;
  return adjust.includes('terrain')
    ? `Net growth${held}`
    : `Net growth${held}${held === '' ? ',' : ''} with what the ground wears off in each season,`;
}

function spreadSentence({ fit, spreads, options }: GrowthAnswer, words: LengthWords): string[] {
  const between = spreads.find(({ of }) => of === 'cluster')?.sd;
  if (!between || fit.variances.cluster === 0) return [];
  const { unit } = MEASURES[options.measure];
  const sd = Math.sqrt(fit.variances.cluster);
  const sure = isUnavailable(between) ? '' : ` (${words.interval95(between.low, between.high, unit, 2)})`;
  const group = options.by === 'none' ? 'the herd’s mean' : 'their group’s mean';
  return [
    `Horses${options.by === 'none' ? '' : ' of one group still'} differ: about two thirds of them lie within ${words.quantity(sd, unit, 2)} of ${group}${sure}. Each horse’s own figure is drawn towards that mean, the more so the fewer its records.`,
  ];
}

/** Said only where it matters: the standard errors then cannot be trusted. */
function lagSentence({ lag, options }: HerdFigures): string[] {
  if (isUnavailable(lag) || !lag.sharedEnds) return [];
  return [
    `Neighbouring changes of a foot seem to share a measuring error (correlation ${figure(lag.estimate, 2)}, ${interval95(lag.low, lag.high, 2)}), as they would if the ${options.measure} after a trim were worked out from the reading before it. Intervals on this page may then be too wide or too narrow.`,
  ];
}
