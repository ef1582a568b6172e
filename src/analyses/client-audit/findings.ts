import { isUnavailable } from '../../core/outcome.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { counted, figure, horsesText, interval95, percent, shareInterval95 } from '../format.ts';
import { groupingWords } from '../groups.ts';
import type { ClientAnswer } from './answer.ts';
import { atRiskWhere } from './data.ts';
import type { ClientFigure, SmallClient } from './expected.ts';
import type { Move } from './move.ts';
import { byChance, clientTitle, outsideOf } from './tables.ts';

/** More names than this are left to the table. */
const NAMED = 6;

/** The sentences; figures as the tables show them. */
export function clientFindings(answer: ClientAnswer): Finding[] {
  const { options, adjust, expected, client, move } = answer;
  const all = {
    relation: 'trim_cycle' as const,
    where: atRiskWhere(options.problem, adjust),
    title: `trim cycles that began clear of ${problemLabel(options.problem)}, all clients`,
  };
  const own = (name: string) => ({
    relation: 'trim_cycle' as const,
    where: atRiskWhere(options.problem, adjust, name),
    title: clientTitle(answer, name),
  });
  const outside = outsideOf(answer);
  const close = expected.clients.find((c) => c.client === client);
  const small = expected.small.find((c) => c.client === client);
  return [
    { sentence: overall(answer), caution: CAUTIONS.record, behind: all },
    ...(outside.length > NAMED
      ? []
      : outside.map((c) => ({
          sentence: `${seen(c, options.problem)}: ${c.verdict}`,
          caution: CAUTIONS.small_numbers,
          behind: own(c.client),
        }))),
    ...spreadSentence(answer).map((sentence) => ({ sentence, caution: CAUTIONS.record, behind: all })),
    ...(close && !outside.includes(close)
      ? [
          {
            sentence: closeSentence(close, answer),
            caution: CAUTIONS.small_numbers,
            behind: own(close.client),
          },
        ]
      : []),
    ...(small
      ? [
          {
            sentence: smallSentence(small, options.problem),
            caution: CAUTIONS.small_numbers,
            behind: own(small.client),
          },
        ]
      : []),
    ...(move && !isUnavailable(move)
      ? [{ sentence: moveSentence(move, answer), caution: CAUTIONS.foot_first, behind: own(move.client) }]
      : []),
  ];
}

function allowedFor({ held, options }: ClientAnswer): string {
  const words = groupingWords(held);
  if (options.interval !== 'held') return words;
  return words === '' ? 'days between visits' : `${words.replace(' and ', ', ')} and days between visits`;
}

function overall(answer: ClientAnswer): string {
  const { options, expected } = answer;
  const enough = expected.clients;
  const outside = outsideOf(answer);
  const label = problemLabel(options.problem);
  const few = expected.small.length;
  const rest = few === 0 ? '' : ` ${counted(few, 'client has', 'clients have')} too few records to tell.`;
  if (enough.length === 0) {
    return `No client has records enough to set its new cases of ${label} against what would be expected: it takes four horses, and more than about four expected cases.`;
  }
  const words = allowedFor(answer);
  const inside = enough.length - outside.length;
  const alike = words === '' ? 'the herd as a whole' : `its mix of ${words}`;
  return `At ${figure(inside)} of ${counted(enough.length, 'client', 'clients')} with records enough, as many new cases of ${label} were seen as one would expect for ${alike}, give or take what chance allows (${percent(0.95)} limits); about ${figure(byChance(answer), 1)} would lie outside by chance alone.${rest}`;
}

/** `Quernside: 34 new cases of separation seen where 21.2 were expected, 1.60 times (95 % 1.12 to 2.23, 8 horses)` */
function seen(c: ClientFigure, problem: ClientAnswer['options']['problem']): string {
  const { estimate, low, high } = c.ratio;
  return `${c.client}: ${counted(c.observed, 'new case', 'new cases')} of ${problemLabel(problem)} seen where ${figure(c.expected, 1)} were expected, ${figure(estimate, 2)} times as many (${interval95(low, high, 2)}, ${horsesText(c.counts.horses)})`;
}

function closeSentence(c: ClientFigure, { options, expected }: ClientAnswer): string {
  const apart = c.ratio.low > 1 || c.ratio.high < 1;
  const isWidened = options.spread !== 'none' && expected.between.tau > 0;
  const inside = isWidened
    ? 'within the limits, which allow for clients differing anyway'
    : 'just within the limits';
  return `${seen(c, options.problem)}: ${apart ? inside : 'within what chance allows'}`;
}

function smallSentence(
  { client, observed, counts, why }: SmallClient,
  problem: ClientAnswer['options']['problem'],
): string {
  return `${client}: ${counted(observed, 'new case', 'new cases')} of ${problemLabel(problem)} seen on ${horsesText(counts.horses)}; too few to tell (${why})`;
}

function spreadSentence({ expected, options }: ClientAnswer): string[] {
  const { tau, nUnits, isBeyondChance } = expected.between;
  if (nUnits < 5) return [];
  if (tau === 0) {
    return [
      'No more difference between clients shows than chance alone would give, once the feet of one horse are taken as alike; small differences may be there all the same.',
    ];
  }
  const wide =
    options.spread === 'none' ? ', for which the limits here do not allow' : ', and the limits allow for it';
  const by = `by an estimated ${figure(2 * tau, 2)} either side of 1, seen over expected, for two thirds of them`;
  if (!isBeyondChance) {
    return [
      `Beyond chance, clients seem to differ ${by}${wide}; but so few clients might show as much by chance alone.`,
    ];
  }
  return [
    `Clients differ more than chance allows: ${by}${wide}. What the records do not hold, such as riding, feed or care between visits, may be behind it.`,
  ];
}

function moveSentence(move: Move, { options }: ClientAnswer): string {
  const at = (measure: string) => move.moved.find((m) => m.measure === measure)!;
  const [visits, risk, cases] = [at('visits'), at('risk'), at('cases')];
  const label = problemLabel(options.problem);
  const both = (a: typeof cases.now, digits: number): string =>
    `${figure(a.estimate, digits)} (${interval95(a.low, a.high, digits)})`;
  const share = (a: typeof cases.now): string =>
    `${percent(a.estimate, 1)} (${shareInterval95(a.low, a.high, 1)})`;
  const { estimate, low, high } = cases.change;
  const unsure = low <= 0 && high >= 0 ? ', which may be none at all' : '';
  const beyond =
    move.weeks < move.range[0] || move.weeks > move.range[1]
      ? ' No interval of that length is on record, so this goes beyond what was seen.'
      : '';
  return `If ${move.client} moved from every ${figure(move.nowWeeks, 1)} weeks to every ${figure(move.weeks, 1)}: ${figure(visits.planned.estimate)} instead of ${figure(visits.now.estimate)} visits a year to its ${horsesText(move.seenLately.horses)} seen in the last half year; chance of ${label} on a clear foot at the next visit ${share(risk.planned)} instead of ${share(risk.now)}; new cases seen a year on their ${counted(move.seenLately.feet, 'foot', 'feet')} ${both(cases.planned, 1)} instead of ${both(cases.now, 1)}, a difference of ${both({ estimate, stdError: null, low, high }, 1)}${unsure}. This reads the whole herd’s records ${move.isAdjusted ? 'for feet like these' : 'as they are, with nothing held alike'}, with long and short intervals not handed out by lot. What came and went between two visits is in neither number, and a longer interval leaves more room for that. The foot in front of you decides.${beyond}`;
}
