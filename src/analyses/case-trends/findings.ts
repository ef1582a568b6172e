import { isUnavailable } from '../../core/outcome.ts';
import { numbers } from '../../core/table.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { isComparable } from '../few-horses.ts';
import { counted, figure, horsesText, interval95, percent, shareInterval95 } from '../format.ts';
import { groupingName } from '../groups.ts';
import type { TrendAnswer, Year } from './answer.ts';
import { looksWhere } from './data.ts';
import { monthWords } from './months.ts';
import { caseWords, lastStanding, latestYears, yearBehind, yearWords } from './tables.ts';

/** The sentences; figures as the tables show them. */
export function trendFindings(answer: TrendAnswer): Finding[] {
  const { options, months, looks } = answer;
  const [latest] = latestYears(answer);
  const all = {
    relation: 'foot_visit' as const,
    where: looksWhere(options, months.starts[0]!, months.starts[months.count]!),
    title: `${problemLabel(options.problem)} graded, whole record`,
  };
  const plain = (sentence: string | null, caution: string | null): Finding[] =>
    sentence === null ? [] : [{ sentence, caution, behind: all }];
  return [
    ...plain(levelsSentence(answer), CAUTIONS.record),
    ...(latest
      ? [
          {
            sentence: yearSentence(answer, latest),
            caution: CAUTIONS.own_scale,
            behind: { relation: 'foot_visit' as const, ...yearBehind(answer, latest) },
          },
        ]
      : []),
    ...plain(standingSentence(answer), CAUTIONS.own_scale),
    ...plain(monthSentence(answer), CAUTIONS.small_numbers),
    ...plain(sumSentence(answer), CAUTIONS.small_numbers),
    ...plain(scanSentence(answer), CAUTIONS.record),
    ...plain(datingSentence(answer), CAUTIONS.between_visits),
    ...plain(listSentence(answer), CAUTIONS.call_vet),
    ...plain(
      looks.tooLong === 0
        ? null
        : `${counted(looks.tooLong, 'time', 'times')} a foot was graded again only after more than a year; what came between is not counted.`,
      null,
    ),
  ];
}

const rateWords = ({ rate }: Year): string =>
  `${figure(rate.estimate, 2)} per 100 clear feet a month (${interval95(rate.low, rate.high, 2)})`;

function yearSentence(answer: TrendAnswer, latest: Year): string {
  const [, before] = latestYears(answer);
  const from = `from ${horsesText(latest.counts.horses)} and ${counted(latest.counts.feet, 'foot', 'feet')}`;
  const now = `From ${yearWords(answer, latest)} there were ${figure(latest.rate.cases, 1)} new cases of ${caseWords(answer)}, ${rateWords(latest)}, ${from}`;
  if (!before) return now;
  const ratio = answer.yearsRatio;
  if (!ratio) return `${now}; in the twelve months before, ${figure(before.rate.cases, 1)}`;
  const chance = ratio.low <= 1 && ratio.high >= 1 ? ', which may be chance' : '';
  return `${now}; in the twelve months before, ${rateWords(before)}. That is ${figure(ratio.estimate, 2)} times the rate (${interval95(ratio.low, ratio.high, 2)})${chance}`;
}

function standingSentence(answer: TrendAnswer): string | null {
  const last = lastStanding(answer);
  if (!last?.share) return null;
  const { estimate, low, high } = last.share;
  return `At the end of ${monthWords(answer.months, last.month)}, ${caseWords(answer)} stood on ${percent(estimate, 1)} of ${counted(last.feet, 'foot', 'feet')} under care (${shareInterval95(low, high, 1)}, ${horsesText(last.horses)}): ${counted(last.affected, 'standing case', 'standing cases')}`;
}

function levelsSentence(answer: TrendAnswer): string | null {
  const { options, years } = answer;
  if (options.by === 'none') return null;
  const told = years
    .filter(({ which, level, counts }) => which === 'latest' && level !== 'all' && isComparable(counts))
    .sort((a, b) => a.rate.estimate - b.rate.estimate);
  const [least, most] = [told[0], told.at(-1)];
  if (!least || !most || least === most) return null;
  const words = (year: Year): string =>
    `${year.level} ${figure(year.rate.estimate, 2)} (${interval95(year.rate.low, year.rate.high, 2)}, ${horsesText(year.counts.horses)})`;
  const apart = most.rate.low > least.rate.high;
  return `By ${groupingName(options.by)}, new cases per 100 clear feet a month from ${yearWords(answer, least)} run from ${words(least)} to ${words(most)}; ${apart ? 'their intervals do not overlap' : 'their intervals overlap, so the order may be chance'}`;
}

/** `about once in 480 months` */
const onceIn = (months: number): string =>
  Number.isFinite(months) ? `about once in ${figure(months)} months` : 'hardly ever';

function monthSentence({ signals: { chart }, months, options }: TrendAnswer): string | null {
  if (isUnavailable(chart)) return null;
  const outside = chart.months.filter(({ isWatched, isOutside }) => isWatched && isOutside);
  const alarm = `A month would fall outside its limits ${onceIn(chart.monthFalseAlarm)} if nothing had changed`;
  if (outside.length === 0) {
    return `In none of the ${figure(chart.sum.length)} months watched did the cases of ${problemLabel(options.problem)} first seen fall outside the limits around those expected. ${alarm}`;
  }
  const last = outside.at(-1)!;
  const more = outside.length === 1 ? '' : `, the last of ${figure(outside.length)} such months`;
  return `In ${monthWords(months, last.month)} ${counted(last.observed, 'case', 'cases')} of ${problemLabel(options.problem)} were first seen where ${figure(last.expected, 1)} were expected, ${last.observed > last.high ? 'more' : 'fewer'} than the limits allow${more}. ${alarm}`;
}

function sumSentence({ signals: { chart }, months }: TrendAnswer): string | null {
  if (isUnavailable(chart)) return null;
  const passed = chart.sum.filter((m) => m.passed);
  const often = Number.isFinite(chart.sumFalseAlarm)
    ? `in about ${figure(chart.falseShare * 100)} of 100 records, ${onceIn(chart.sumFalseAlarm)}`
    : `in none of the ${figure(chart.runs)} records simulated`;
  const alarm = `If nothing had changed it would pass within ${figure(chart.sum.length)} months ${often}`;
  const season = chart.hasSeason ? 'days between visits and season' : 'days between visits';
  if (passed.length === 0) {
    return `The running sum of cases beyond those expected, with ${season} allowed for, did not pass its limit in the months watched: no sign of a lasting rise. ${alarm}`;
  }
  return `The running sum of cases beyond those expected, with ${season} allowed for, passed its limit in ${monthWords(months, passed[0]!.month)}: a sign of a rise that has lasted, or a false alarm. ${alarm}`;
}

function scanSentence({ signals: { scan }, months, options }: TrendAnswer): string | null {
  if (isUnavailable(scan)) return null;
  const { ratio, p, month } = scan;
  const found = `new cases of ${problemLabel(options.problem)} from ${monthWords(months, month)} on came at ${figure(ratio.estimate, 2)} times the rate before (${interval95(ratio.low, ratio.high, 2)})`;
  const often = `${figure(p * 100, p < 0.095 ? 1 : 0)} of 100 records without any change would show as much somewhere`;
  return p <= 0.05
    ? `The whole record parts in two: ${found}. About ${often}, with the horses as they are. The month was picked for parting best, so the figure flatters`
    : `No lasting change of level stands out over the whole record: parted where it parts best, ${found}, but about ${often}`;
}

function datingSentence({ whole, months, partFrom }: TrendAnswer): string | null {
  let most = -1;
  for (let month = 0; month < Math.min(months.count, partFrom); month += 1) {
    const gap = Math.abs(whole.spread[month]! - whole.byVisit[month]!);
    if (most < 0 || gap > Math.abs(whole.spread[most]! - whole.byVisit[most]!)) most = month;
  }
  if (most < 0 || Math.abs(whole.spread[most]! - whole.byVisit[most]!) < 0.5) return null;
  return `Dated by the visit at which it was first seen, a case counts late: the two ways of dating differ most in ${monthWords(months, most)}, ${figure(whole.byVisit[most]!)} by the visit and ${figure(whole.spread[most]!, 1)} when each is spread over the days since the visit before`;
}

function listSentence(answer: TrendAnswer): string | null {
  const { cases, options } = answer;
  if (cases.rowCount === 0) return null;
  const all = numbers(cases, 'cases')[0]!;
  const standing = numbers(cases, 'cases_standing')[0]!;
  const listed = cases.rowCount < all ? `, of which the latest ${figure(cases.rowCount)} are listed` : '';
  return options.list === 'standing'
    ? `${counted(all, 'case', 'cases')} of ${caseWords(answer)} stood at the foot’s last graded visit${listed}`
    : `${counted(all, 'case', 'cases')} of ${caseWords(answer)} are on record${listed}; ${figure(standing)} stood at the foot’s last graded visit`;
}
