import { problemLabel } from '../../herd/problems.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { comparable, comparableLevels, fewHorses } from '../few-horses.ts';
import { counted, figure, horsesText, percent, range, shareInterval95 } from '../format.ts';
import { groupingName } from '../groups.ts';
import { contrastTitle, type ShareContrastRow } from './contrasts.ts';
import type { PrevalenceOptions } from './options.ts';
import { quarterWords, type Share } from './shares.ts';
import { shareTitle } from './tables.ts';

/** The sentences; figures as the tables show them. */
export function prevalenceFindings(
  shares: readonly Share[],
  contrasts: readonly ShareContrastRow[],
  options: PrevalenceOptions,
): Finding[] {
  if (shares.length === 0) return [];
  if (options.by === 'none') return headline(shares, options);
  if (options.by === 'quarter') return options.problems.flatMap((p) => yearOnYear(shares, contrasts, p));
  const told = options.problems.flatMap((problem) => runsFrom(shares, contrasts, problem, options));
  // The same levels are few for most problems: said once.
  return [...new Map(told.map((finding) => [finding.sentence, finding])).values()];
}

const feetAndHorses = (horses: number, feet: number): string =>
  `${horsesText(horses)}, ${counted(feet, 'foot', 'feet')}`;

const shareWords = ({ share }: Share): string =>
  `${percent(share.estimate, 1)} (${shareInterval95(share.low, share.high, 1)})`;

function headline(shares: readonly Share[], { at }: PrevalenceOptions): Finding[] {
  const sorted = [...shares].sort((a, b) => b.share.estimate - a.share.estimate);
  const told = sorted.map(
    ({ problem, share, affected }) =>
      `${problemLabel(problem)} ${percent(share.estimate, 1)} (${shareInterval95(share.low, share.high, 1)}, ${at === 'latest' ? counted(affected, 'foot', 'feet') : counted(affected, 'foot visit', 'foot visits')})`,
  );
  const counts = shares.map((share) => share.counts);
  const horses = Math.max(...counts.map((n) => n.horses));
  const feet = Math.max(...counts.map((n) => n.feet));
  const upTo = counts.some((n) => n.horses < horses || n.feet < feet) ? 'up to ' : '';
  const when =
    at === 'latest'
      ? 'At its latest graded visit, the share of feet affected was'
      : 'Over all graded visits, the share affected was';
  return [
    {
      sentence: `${when}: ${told.join('; ')}. From ${upTo}${feetAndHorses(horses, feet)}.`,
      caution: CAUTIONS.own_scale,
      behind: { relation: 'foot_visit', where: sorted[0]!.where, title: shareTitle(sorted[0]!) },
    },
  ];
}

/** The least and the most of one problem, with their difference where one of them is what the rest are compared with. */
function runsFrom(
  shares: readonly Share[],
  contrasts: readonly ShareContrastRow[],
  problem: Share['problem'],
  { by }: PrevalenceOptions,
): Finding[] {
  const told = shares.filter((share) => share.problem === problem);
  if (told.length < 2 || by === 'none' || by === 'quarter') return [];
  const few = fewHorses(by, told, null);
  const enough = comparableLevels(told);
  if (comparable(told).length < 2) return few;
  const sorted = comparable(told).sort((a, b) => a.share.estimate - b.share.estimate);
  const [least, most] = [sorted[0]!, sorted.at(-1)!];
  const words = (share: Share): string =>
    `${share.level} ${percent(share.share.estimate, 1)} (${shareInterval95(share.share.low, share.share.high, 1)}, ${horsesText(share.counts.horses)})`;
  const widest = contrasts
    .filter((row) => row.problem === problem && enough(row.level) && enough(row.against))
    .sort((a, b) => Math.abs(b.difference.estimate) - Math.abs(a.difference.estimate))[0];
  return [
    {
      sentence: `By ${groupingName(by)}, the share of feet with ${problemLabel(problem)} runs from ${words(least)} to ${words(most)}.${widest ? ` Furthest from ${widest.against} is ${widest.level}: ${differenceWords(widest)}.` : ''}`,
      caution: CAUTIONS.record,
      behind: { relation: 'foot_visit', where: most.where, title: shareTitle(most) },
    },
    ...few,
  ];
}

/** `3.1 points more (95 % −1.0 to 7.2), which may be chance` */
function differenceWords({ difference: { estimate, low, high } }: ShareContrastRow): string {
  const points = figure(Math.abs(estimate) * 100, 1);
  const limits = estimate < 0 ? range(-high * 100, -low * 100, 1) : range(low * 100, high * 100, 1);
  const chance = low <= 0 && high >= 0 ? ', which may be chance' : '';
  return `${points} points ${estimate < 0 ? 'less' : 'more'} (${percent(0.95)} ${limits})${chance}`;
}

/** The latest season on record against the same one a year earlier. */
function yearOnYear(
  shares: readonly Share[],
  contrasts: readonly ShareContrastRow[],
  problem: Share['problem'],
): Finding[] {
  const latest = contrasts.filter((row) => row.problem === problem).at(-1);
  if (!latest) return [];
  const at = (level: string): Share | undefined =>
    shares.find((share) => share.problem === problem && share.level === level);
  const [now, then] = [at(latest.level), at(latest.against)];
  if (!now || !then) return [];
  const few = fewHorses('season', [now, then], null);
  if (few.length > 0) return few;
  return [
    {
      sentence: `In ${quarterWords(latest.level)} ${problemLabel(problem)} was there in ${shareWords(now)} of graded foot visits, against ${shareWords(then)} in ${quarterWords(latest.against)}, the same season a year earlier: ${differenceWords(latest)}. From ${feetAndHorses(latest.counts.horses, latest.counts.feet)}; the horses seen need not be the same.`,
      caution: CAUTIONS.record,
      behind: { relation: 'foot_visit', where: latest.where, title: contrastTitle(latest) },
    },
  ];
}
