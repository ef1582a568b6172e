import { isUnavailable, type Unavailable, unavailable } from '../../core/outcome.ts';
import { type ProblemKey, problemLabel } from '../../herd/problems.ts';
import { stepAt } from '../../stats/kaplan-meier.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { figure, percent, percentRange } from '../format.ts';
import { type Grouping, groupingWords } from '../groups.ts';
import type { GroupReturn, RecurrenceOptions } from './answer.ts';

/** The groups that gave no number, each with a sentence that says which. */
export function refusal(group: GroupReturn, { problem, by }: RecurrenceOptions): Unavailable[] {
  if (!isUnavailable(group.bands)) return [];
  const who = group.level === 'all' ? '' : ` (${groupingWords(by)} ${group.level})`;
  const label = problemLabel(problem);
  if (group.bands.unavailable === 'no-rows') {
    return [
      unavailable('no-rows', `No foot was seen to clear of ${label}${who}, so its return cannot be studied.`),
    ];
  }
  if (group.bands.unavailable === 'no-events') {
    return [
      unavailable(
        'no-events',
        `No return of ${label} was seen${who} in ${figure(group.nSpells)} clear spells of ${figure(group.nHorses)} horses. That is not the same as no risk.`,
      ),
    ];
  }
  return [{ ...group.bands, sentence: `${label}${who}: ${group.bands.sentence}` }];
}

const spellCount = (group: GroupReturn): string =>
  `${figure(group.nHorses)} horses, ${figure(group.nFeet)} feet, ${figure(group.nSpells)} clear spells`;

export function headline(all: GroupReturn, problem: ProblemKey, horizons: readonly number[]): Finding[] {
  if (isUnavailable(all.bands)) return [];
  const { points } = all.bands;
  const parts = horizons.flatMap((days) => {
    const point = points.find((p) => p.at === days);
    if (!point) return [];
    const { low, high } = point.estimate;
    const loose = high - low > 0.01 ? `, the visits leave it anywhere in ${percentRange(low, high)}` : '';
    return [
      `${percent((low + high) / 2)} by ${days} days (95 % ${percentRange(point.low, point.high)}${loose})`,
    ];
  });
  return [
    {
      sentence: `Of feet that had cleared of ${problemLabel(problem)}, an estimated share had it again, as seen at visits: ${parts.join('; ')}. From ${spellCount(all)}.`,
      caution: CAUTIONS.between_visits,
      behind: {
        relation: 'spell',
        where: all.where,
        title: `clear spells after ${problemLabel(problem)}, all horses`,
      },
    },
  ];
}

export function byLevel(
  groups: readonly GroupReturn[],
  problem: ProblemKey,
  by: Grouping,
  horizons: readonly number[],
): Finding[] {
  const days = horizons[Math.min(1, horizons.length - 1)]!;
  const told = groups.flatMap((group) => {
    if (isUnavailable(group.bands)) return [];
    const point = group.bands.points.find((p) => p.at === days);
    return point ? [{ group, point, middle: (point.estimate.low + point.estimate.high) / 2 }] : [];
  });
  if (told.length < 2) return [];
  const sorted = [...told].sort((a, b) => b.middle - a.middle);
  const most = sorted[0]!;
  const least = sorted.at(-1)!;
  const apart = most.point.low > least.point.high;
  const words = ({ group, point, middle }: (typeof told)[number]): string =>
    `${group.level} ${percent(middle)} (95 % ${percentRange(point.low, point.high)}, ${figure(group.nHorses)} horses)`;
  return [
    {
      sentence: `By ${groupingWords(by)}, the share with ${problemLabel(problem)} seen again by ${days} days runs from ${words(least)} to ${words(most)}; ${apart ? 'their intervals do not overlap' : 'their intervals overlap, so the order may be chance'}.`,
      caution: CAUTIONS.small_numbers,
      behind: {
        relation: 'spell',
        where: most.group.where,
        title: `clear spells after ${problemLabel(problem)}, ${most.group.level}`,
      },
    },
  ];
}

export function visitDateFinding(
  all: GroupReturn,
  problem: ProblemKey,
  horizons: readonly number[],
): Finding[] {
  if (isUnavailable(all.bands) || isUnavailable(all.visitDate)) return [];
  const days = horizons[0]!;
  const point = all.bands.points.find((p) => p.at === days);
  const step = stepAt(all.visitDate, days);
  if (!point) return [];
  const ours = (point.estimate.low + point.estimate.high) / 2;
  const naive = 1 - (step?.survival ?? 1);
  return [
    {
      sentence: `Taking the visit date as the date of return would have said ${percent(naive, 1)} by ${days} days instead of ${percent(ours, 1)}: a return is found only at the visit after it, so it is counted late.`,
      caution: null,
      behind: {
        relation: 'spell',
        where: all.where,
        title: `clear spells after ${problemLabel(problem)}, all horses`,
      },
    },
  ];
}
