import { dayFromIso, isoFromDay, partsOfDay } from '../../core/civil-day.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { countsText, figure, range } from '../format.ts';
import { groupingWords } from '../groups.ts';
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
  return isoFromDay(first + turned) ? `${dayOfMonth} ${MONTHS[month - 1]}` : '';
}

/** The sentences; figures as the tables show them. */
export function growthFindings(answer: GrowthAnswer): Finding[] {
  const { options, rows, fit, where } = answer;
  const { label } = MEASURES[options.measure];
  const whole = herdRate(answer);
  const behind = { relation: 'trim_cycle' as const, where, title: `${label} growth, all horses` };
  const findings: Finding[] = [
    {
      sentence: `Net ${label} growth averaged ${figure(whole.estimate, 2)} mm per 30 days (95 % ${range(whole.low, whole.high, 2)}), from ${countsText(rows.counts)}.`,
      caution: null,
      behind,
    },
  ];
  if (options.by !== 'none') findings.push(...byLevel(answer));
  const season = seasonSummary(answer);
  if (season) {
    const { amplitude, peakDay } = season;
    findings.push({
      sentence: peakDay
        ? `Growth rose and fell through the year by ${figure(amplitude.estimate, 2)} mm per 30 days either side of its mean (95 % ${range(amplitude.low, amplitude.high, 2)}), fastest about ${dayOfYearWords(peakDay.estimate)} (95 % ${dayOfYearWords(peakDay.low)} to ${dayOfYearWords(peakDay.high)}).`
        : `No yearly rise and fall stood out: it lay between ${range(amplitude.low, amplitude.high, 2)} mm per 30 days either side of the mean (95 %).`,
      caution: null,
      behind,
    });
  }
  if (fit.estimable.cluster && fit.variances.cluster > 0) {
    findings.push({
      sentence: `Horses of one group still differ: about two thirds of them lie within ${figure(Math.sqrt(fit.variances.cluster), 2)} mm per 30 days of their group’s mean. Each horse’s own figure below is drawn towards that mean, the more so the fewer its records.`,
      caution: CAUTIONS.small_numbers,
      behind,
    });
  }
  return findings;
}

function byLevel(answer: GrowthAnswer): Finding[] {
  const { by } = answer.options;
  if (by === 'none') return [];
  const sorted = levelRates(answer).sort((a, b) => b.rate.estimate - a.rate.estimate);
  const most = sorted[0];
  const least = sorted.at(-1);
  if (!most || !least || most === least) return [];
  const words = ({ level, rate, counts }: typeof most): string =>
    `${level} ${figure(rate.estimate, 2)} (95 % ${range(rate.low, rate.high, 2)}, ${figure(counts.horses)} ${counts.horses === 1 ? 'horse' : 'horses'})`;
  const apart = most.rate.low > least.rate.high;
  const { label } = MEASURES[answer.options.measure];
  return [
    {
      sentence: `By ${groupingWords(by)}, ${label} growth in mm per 30 days runs from ${words(least)} to ${words(most)}; ${apart ? 'their intervals do not overlap' : 'their intervals overlap, so the order may be chance'}.`,
      caution: CAUTIONS.record,
      behind: {
        relation: 'trim_cycle',
        where: answer.where,
        title: `${label} growth by ${groupingWords(by)}`,
      },
    },
  ];
}
