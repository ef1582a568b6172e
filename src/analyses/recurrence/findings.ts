import { isUnavailable, type Unavailable, unavailable } from '../../core/outcome.ts';
import { type ProblemKey, problemLabel } from '../../herd/problems.ts';
import { stepAt } from '../../stats/kaplan-meier.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { comparable, fewHorses } from '../few-horses.ts';
import { counted, countsText, horsesText, percent, percentRange, shareInterval95 } from '../format.ts';
import { type Grouping, groupingName } from '../groups.ts';
import { type GroupReturn, pairsTitle, type RecurrenceOptions, spellsTitle, steadyShare } from './answer.ts';

/** The groups that gave no number, each with a sentence that says which. */
export function refusal(group: GroupReturn, { problem, by }: RecurrenceOptions): Unavailable[] {
  if (!isUnavailable(group.bands)) return [];
  const who = group.level === 'all' ? '' : ` (${groupingName(by as Grouping)} ${group.level})`;
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
        `No return of ${label} was seen${who} in ${counted(group.nSpells, 'clear spell', 'clear spells')} of ${horsesText(group.nHorses)}. That is not the same as no risk.`,
      ),
    ];
  }
  return [{ ...group.bands, sentence: `${label}${who}: ${lowerFirst(group.bands.sentence)}` }];
}

const lowerFirst = (text: string): string => text.charAt(0).toLowerCase() + text.slice(1);

const spellCount = (group: GroupReturn): string =>
  [
    horsesText(group.nHorses),
    counted(group.nFeet, 'foot', 'feet'),
    counted(group.nSpells, 'clear spell', 'clear spells'),
  ].join(', ');

/** Bounds this far apart (shares) are worth saying: the visits do not settle the figure. */
const LOOSE = 0.03;

const behindAll = (all: GroupReturn, problem: ProblemKey) => ({
  relation: 'spell' as const,
  where: all.where,
  title: spellsTitle(problem, 'all'),
});

export function headline(all: GroupReturn, problem: ProblemKey, horizons: readonly number[]): Finding[] {
  if (isUnavailable(all.bands)) return [];
  const { points } = all.bands;
  const parts = horizons.flatMap((days) => {
    const point = points.find((p) => p.at === days);
    if (!point) return [];
    const { low, high } = point.estimate;
    const loose =
      high - low >= LOOSE ? `, the visits leave it anywhere from ${percentRange(low, high, 1)}` : '';
    return [
      `${percent((low + high) / 2, 1)} by ${days} days (${shareInterval95(point.low, point.high, 1)}${loose})`,
    ];
  });
  return [
    {
      sentence: `Of feet that had cleared of ${problemLabel(problem)}, an estimated share had it again, as seen at visits: ${parts.join('; ')}. From ${spellCount(all)}.`,
      caution: CAUTIONS.between_visits,
      behind: behindAll(all, problem),
    },
  ];
}

/** The two-state model's answer: what would have come back if unseen returns counted. */
export function steadyFinding(all: GroupReturn, problem: ProblemKey, horizons: readonly number[]): Finding[] {
  const { steady } = all;
  if (!steady || isUnavailable(steady)) return [];
  const parts = horizons.map((days) => {
    const { estimate, low, high } = steadyShare(steady, days);
    return `${percent(estimate, 1)} by ${days} days (${shareInterval95(low, high, 1)})`;
  });
  return [
    {
      sentence: `If returns that cleared again between two visits are counted too, a two-state model with one steady rate puts the share with ${problemLabel(problem)} again at ${parts.join('; ')}. From ${countsText(steady.counts)} of feet that have had it.`,
      caution: null,
      behind: { relation: 'trim_cycle', where: steady.where, title: pairsTitle(problem, 'all') },
    },
  ];
}

/** Said of the herd only: its groups are the same story. */
export function steadyRefusal({ steady }: GroupReturn, problem: ProblemKey): Unavailable[] {
  if (!steady || !isUnavailable(steady)) return [];
  return [
    unavailable(
      steady.unavailable,
      `Returns of ${problemLabel(problem)} that cleared unseen cannot be allowed for: ${lowerFirst(steady.sentence)}`,
    ),
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
    const middle = point && (point.estimate.low + point.estimate.high) / 2;
    return point ? [{ ...levelOf(group), group, point, middle: middle! }] : [];
  });
  const few = fewHorses(by, groups.map(levelOf), null);
  if (comparable(told).length < 2) return few;
  const sorted = comparable(told).sort((a, b) => b.middle - a.middle);
  const most = sorted[0]!;
  const least = sorted.at(-1)!;
  const apart = most.point.low > least.point.high;
  const words = ({ group, point, middle }: (typeof told)[number]): string =>
    `${group.level} ${percent(middle, 1)} (${shareInterval95(point.low, point.high, 1)}, ${horsesText(group.nHorses)})`;
  return [
    {
      sentence: `By ${groupingName(by)}, the share with ${problemLabel(problem)} seen again by ${days} days runs from ${words(least)} to ${words(most)}; ${apart ? 'their intervals do not overlap' : 'their intervals overlap, so the order may be chance'}.`,
      caution: CAUTIONS.small_numbers,
      behind: {
        relation: 'spell',
        where: most.group.where,
        title: spellsTitle(problem, most.group.level),
      },
    },
    ...few,
  ];
}

/** A group as a level of a comparison. */
export const levelOf = ({ level, nHorses }: GroupReturn) => ({ level, counts: { horses: nHorses } });

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
      behind: behindAll(all, problem),
    },
  ];
}
