import { isUnavailable, type Unavailable, unavailable } from '../../core/outcome.ts';
import type { ClusteredRate } from '../../stats/clustered-rate.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { comparable, fewHorses } from '../few-horses.ts';
import { countsText, figure, horsesText, percent, shareInterval95 } from '../format.ts';
import { groupingName } from '../groups.ts';
import type { LengthWords } from '../lengths.ts';
import type { WearOptions } from './options.ts';
import type { WearRates } from './rates.ts';

const UNIT = 'mm per 30 days';

export const cyclesTitle = (level: string): string =>
  `trim cycles with a mark read at both ends, ${level === 'all' ? 'all horses' : level}`;

/** Wear is never below 0: such a figure speaks of the marks. Null where it is not below. */
function impossible({ estimate, high }: ClusteredRate): string | null {
  if (estimate >= 0) return null;
  return high < 0
    ? 'the marks read here moved less than the toe grew, which cannot be: look at the marks'
    : 'the marks read here moved less than the toe grew, which cannot be; the interval holds 0, so errors of reading may be all there is to it';
}

export function headline(whole: WearRates, words: LengthWords): Finding[] {
  const { gross, wear, share } = whole;
  if (isUnavailable(gross) || isUnavailable(wear)) return [];
  const told = ({ low, high }: ClusteredRate): string => `(${words.interval95(low, high, UNIT, 2)})`;
  const moved =
    gross.estimate < 0
      ? `the mark moved up, towards the hairline, by an estimated ${words.quantity(-gross.estimate, UNIT, 2)} (${words.interval95(-gross.high, -gross.low, UNIT, 2)})`
      : `the wall grew down by an estimated ${words.quantity(gross.estimate, UNIT, 2)} ${told(gross)}`;
  const part =
    isUnavailable(share) || wear.estimate < 0
      ? ''
      : `, ${percent(share.estimate, 1)} of it (${shareInterval95(share.low, share.high, 1)})`;
  const why = impossible(wear);
  const worn = why
    ? `wear would be ${words.quantity(wear.estimate, UNIT, 2)} ${told(wear)}: ${why}`
    : `${words.quantity(wear.estimate, UNIT, 2)} wore off ${told(wear)}${part}`;
  return [
    {
      sentence: `Where a mark in the wall was read at both ends of a trim cycle, ${moved}, and ${worn}. From ${countsText(whole.counts)}.`,
      caution: null,
      behind: { relation: 'trim_cycle', where: whole.where, title: cyclesTitle('all') },
    },
  ];
}

export function byLevel(all: readonly WearRates[], { by }: WearOptions, words: LengthWords): Finding[] {
  if (by === 'none') return [];
  const told = all.flatMap((rates) =>
    isUnavailable(rates.wear)
      ? []
      : [{ level: rates.level, counts: rates.counts, where: rates.where, wear: rates.wear }],
  );
  const few = fewHorses(by, told, null);
  const sorted = comparable(told).sort((a, b) => a.wear.estimate - b.wear.estimate);
  const [least, most] = [sorted[0], sorted.at(-1)];
  if (!least || !most || least === most) return few;
  const of = ({ level, wear, counts }: typeof least): string =>
    `${level} ${words.figure(wear.estimate, UNIT, 2)} (${words.interval95(wear.low, wear.high, UNIT, 2)}, ${horsesText(counts.horses)})`;
  const why = impossible(least.wear);
  return [
    {
      sentence: `By ${groupingName(by)}, wear in ${words.unit(UNIT)} runs from ${of(least)} to ${of(most)}; ${most.wear.low > least.wear.high ? 'their intervals do not overlap' : 'their intervals overlap, so the order may be chance'}.${why ? ` Below 0, ${why}.` : ''}`,
      caution: CAUTIONS.record,
      behind: { relation: 'trim_cycle', where: most.where, title: cyclesTitle(most.level) },
    },
    ...few,
  ];
}

export function refusals(all: readonly WearRates[], { by }: WearOptions): Unavailable[] {
  const [whole, ...rest] = all;
  const { cycles, horses } = whole!.counts;
  if (isUnavailable(whole!.wear)) {
    const sentence =
      cycles === 0
        ? 'gross growth and wear cannot be told: no mark was read at two visits running on the same foot, with the toe measured at both.'
        : `gross growth and wear cannot be told from ${figure(cycles)} trim cycles of ${horsesText(horses)} with a mark read at both ends: ${whole!.wear.sentence}`;
    return [unavailable(whole!.wear.unavailable, sentence)];
  }
  if (by === 'none') return [];
  return rest.flatMap(({ level, wear: worn, counts }) =>
    isUnavailable(worn)
      ? [
          unavailable(
            worn.unavailable,
            `wear, ${groupingName(by)} ${level}: too few marks (${horsesText(counts.horses)}, ${figure(counts.cycles)} trim cycles): ${worn.sentence}`,
          ),
        ]
      : [],
  );
}
