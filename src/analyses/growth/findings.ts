import { dayFromIso, partsOfDay } from '../../core/civil-day.ts';
import { type Estimate, isUnavailable } from '../../core/outcome.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { countsText, figure, horsesText, interval95, quantity, range } from '../format.ts';
import { groupingName } from '../groups.ts';
import type { GrowthAnswer } from './answer.ts';
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

/** The sentences; figures as the tables show them. `herd` is the same question asked of all horses together. */
export function growthFindings(answer: GrowthAnswer, herd: GrowthAnswer): Finding[] {
  const { options, where } = herd;
  const { term } = MEASURES[options.measure];
  const behind = { relation: 'trim_cycle' as const, where, title: `${term}, all horses` };
  const plain = (sentence: string, caution: string | null = null): Finding => ({ sentence, caution, behind });
  return [
    plain(headline(herd)),
    ...byLevel(answer),
    ...seasonSentence(herd).map((sentence) => plain(sentence)),
    ...spreadSentence(answer).map((sentence) => plain(sentence, CAUTIONS.small_numbers)),
    ...lagSentence(herd).map((sentence) => plain(sentence)),
  ];
}

function headline(answer: GrowthAnswer): string {
  const { options, rows } = answer;
  const { title, unit } = MEASURES[options.measure];
  const whole = herdRate(answer);
  const from = `from ${countsText(rows.counts)}`;
  if (options.measure === 'angle') return `Between trims the toe angle ${movement(whole, unit)}, ${from}.`;
  return `${title} averaged ${quantity(whole.estimate, unit, 2)} (${interval95(whole.low, whole.high, 2)}), ${from}.`;
}

/** Rise and fall in words, so that a minus sign need not be read into them. */
function movement({ estimate, low, high }: Estimate, unit: string): string {
  if (low > 0) return `rose by ${quantity(estimate, unit, 2)} on average (${interval95(low, high, 2)})`;
  if (high < 0) return `fell by ${quantity(-estimate, unit, 2)} on average (${interval95(-high, -low, 2)})`;
  return `changed by ${quantity(estimate, unit, 2)} on average (${interval95(low, high, 2)}), so that it may have risen or fallen`;
}

function byLevel(answer: GrowthAnswer): Finding[] {
  const { by, measure } = answer.options;
  if (by === 'none') return [];
  const sorted = levelRates(answer).sort((a, b) => b.rate.estimate - a.rate.estimate);
  const most = sorted[0];
  const least = sorted.at(-1);
  if (!most || !least || most === least) return [];
  const words = ({ level, rate, counts }: typeof most): string =>
    `${level} ${figure(rate.estimate, 2)} (${interval95(rate.low, rate.high, 2)}, ${horsesText(counts.horses)})`;
  const apart = most.rate.low > least.rate.high;
  const { term, unit } = MEASURES[measure];
  return [
    {
      sentence: `By ${groupingName(by)}, ${term} in ${unit} runs from ${words(least)} to ${words(most)}; ${apart ? 'their intervals do not overlap' : 'their intervals overlap, so the order may be chance'}.`,
      caution: CAUTIONS.record,
      behind: { relation: 'trim_cycle', where: answer.where, title: `${term} by ${groupingName(by)}` },
    },
  ];
}

function seasonSentence(answer: GrowthAnswer): string[] {
  const season = seasonSummary(answer);
  if (!season) return [];
  const { amplitude, peakDay } = season;
  const { unit } = MEASURES[answer.options.measure];
  const isAngle = answer.options.measure === 'angle';
  if (!peakDay) {
    return [
      `No yearly rise and fall of ${isAngle ? 'the drift' : 'growth'} stood out: it may lie anywhere from ${range(amplitude.low, amplitude.high, 2)} ${unit} either side of the mean (95 % interval).`,
    ];
  }
  return [
    `${isAngle ? 'The drift' : 'Net growth, with what the ground wears off in each season,'} rose and fell through the year by ${quantity(amplitude.estimate, unit, 2)} either side of its mean (${interval95(amplitude.low, amplitude.high, 2)}), ${isAngle ? 'highest' : 'fastest'} about ${dayOfYearWords(peakDay.estimate)} (95 % ${dayOfYearWords(peakDay.low)} to ${dayOfYearWords(peakDay.high)}).`,
  ];
}

function spreadSentence({ fit, spreads, options }: GrowthAnswer): string[] {
  const between = spreads.find(({ of }) => of === 'cluster')?.sd;
  if (!between || fit.variances.cluster === 0) return [];
  const { unit } = MEASURES[options.measure];
  const sd = Math.sqrt(fit.variances.cluster);
  const sure = isUnavailable(between) ? '' : ` (${interval95(between.low, between.high, 2)})`;
  const group = options.by === 'none' ? 'the herd’s mean' : 'their group’s mean';
  return [
    `Horses${options.by === 'none' ? '' : ' of one group still'} differ: about two thirds of them lie within ${quantity(sd, unit, 2)} of ${group}${sure}. Each horse’s own figure is drawn towards that mean, the more so the fewer its records.`,
  ];
}

/** Said only where it matters: the standard errors then cannot be trusted. */
function lagSentence({ lag, options }: GrowthAnswer): string[] {
  if (isUnavailable(lag) || !lag.sharedEnds) return [];
  return [
    `Neighbouring changes of a foot seem to share a measuring error (correlation ${figure(lag.estimate, 2)}, ${interval95(lag.low, lag.high, 2)}), as they would if the ${options.measure} after a trim were worked out from the reading before it. Intervals on this page may then be too wide or too narrow.`,
  ];
}
