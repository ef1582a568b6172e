import { problemLabel } from '../../herd/problems.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { counted, figure, horsesText, interval95, percent, shareInterval95 } from '../format.ts';
import type { Change, SeasonShare } from './changes.ts';
import type { Gap } from './gaps.ts';
import type { CaseloadOptions } from './options.ts';
import type { Round } from './round.ts';
import { changeTitle, changeWords, type Listed, latestOf, ofKind } from './tables.ts';

export function caseloadFindings(
  round: Round,
  listed: readonly Listed[],
  changes: readonly Change[],
  gaps: readonly Gap[],
  options: CaseloadOptions,
): Finding[] {
  const [first, ...others] = changeFindings(changes);
  return [...(first ? [first] : []), ...roundFinding(round, listed, options), ...others, ...gapFinding(gaps)];
}

function roundFinding(
  { horses, lapsed }: Round,
  listed: readonly Listed[],
  { due, within_days }: CaseloadOptions,
): Finding[] {
  if (horses.length === 0) return [];
  const n = (kind: Parameters<typeof ofKind>[1]): number => ofKind(listed, kind).length;
  const date = due === 'plan' ? 'past the date of the plan’s starting limits' : 'past their usual interval';
  const parts = [
    `${figure(n('overdue'))} ${date}, ${figure(n('due'))} due within ${counted(within_days, 'day', 'days')}`,
    `with a tender foot ${figure(n('tender'))}`,
    `a severe problem ${figure(n('severe'))}`,
    `one worse than at the visit before ${figure(n('worse'))}`,
    `one back after a clear visit ${figure(n('back'))}`,
  ];
  const left = lapsed > 0 ? ` Left out, unseen for over half a year: ${figure(lapsed)}.` : '';
  return [
    {
      sentence: `Of ${horsesText(horses.length)} on the round: ${parts.join('; ')}.${left}`,
      caution: CAUTIONS.foot_first,
      behind:
        listed.length === 0
          ? null
          : {
              relation: 'foot_visit',
              where: latestOf(listed),
              title: 'horses that need attention, latest visits',
            },
    },
  ];
}

/** What changed, a sentence each; what did not, in one. */
function changeFindings(changes: readonly Change[]): Finding[] {
  const isTold = ({ difference: { low, high } }: Change): boolean => low > 0 || high < 0;
  const changed = changes.filter(isTold).map((change): Finding => {
    const { problem, now, before, apart } = change;
    const another = apart === 1 ? ' Another season differs by the time of year as well.' : '';
    return {
      sentence: `${capital(problemLabel(problem))} is ${changeWords(change)} often graded than in ${before.season}: ${share(now)} of graded foot visits in ${now.season} so far, ${share(before)} then, a difference of ${points(change.difference)}.${another}`,
      caution: CAUTIONS.record,
      behind: { relation: 'foot_visit', where: change.where, title: changeTitle(change) },
    };
  });
  const same = changes.filter((change) => !isTold(change));
  if (same.length === 0) return changed;
  const size = ({ difference }: Change): number => Math.abs(difference.estimate);
  const most = same.reduce((a, b) => (size(b) > size(a) ? b : a));
  const seasons = [...new Set(same.map(({ before }) => before.season))];
  const against = seasons.map(
    (season) =>
      `${season} in ${same
        .filter(({ before }) => before.season === season)
        .map(({ problem }) => problemLabel(problem))
        .join(', ')}`,
  );
  const problems = new Set(same.map(({ problem }) => problem));
  const alike = seasons.length === 2 && same.length === changes.length && same.length === 2 * problems.size;
  const where = alike ? `${seasons.join(' or ')} in any problem` : against.join('; or ');
  return [
    ...changed,
    {
      sentence: `No change that these records can tell against ${where}. Largest is ${problemLabel(most.problem)} against ${most.before.season}, ${points(most.difference)}.`,
      caution: null,
      behind: { relation: 'foot_visit', where: most.where, title: changeTitle(most) },
    },
  ];
}

/** `−6.0 points (95 % −11.0 to −1.0)`, of shares in per cent. */
const points = ({ estimate, low, high }: Change['difference']): string =>
  `${figure(estimate, 1)} points (${interval95(low, high, 1)})`;

const share = ({ share: { estimate, low, high } }: SeasonShare): string =>
  `${percent(estimate, 1)} (${shareInterval95(low, high, 1)})`;

function gapFinding(gaps: readonly Gap[]): Finding[] {
  const [most] = gaps;
  if (!most) return [];
  const { measure, missing, of, weakens, where } = most;
  return [
    {
      sentence: `Most often missing: ${measure.toLowerCase()}, in ${percent(missing / of, 1)} of the ${counted(of, 'foot visit', 'foot visits')} where it is asked for. That weakens ${weakens}.`,
      caution: null,
      behind: { relation: 'foot_visit', where, title: `${measure.toLowerCase()} not recorded` },
    },
  ];
}

const capital = (text: string): string => text.replace(/^./, (letter) => letter.toUpperCase());
