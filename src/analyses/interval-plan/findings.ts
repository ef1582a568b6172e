import { longDate } from '../../core/civil-day.ts';
import type { Estimate } from '../../core/outcome.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { Finding } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { FEWEST_COMPARED } from '../few-horses.ts';
import { counted, countsText, figure, horsesText, interval95, percent, shareInterval95 } from '../format.ts';
import { isLevel, isOneOf } from '../groups.ts';
import type { PlanAnswer } from './answer.ts';
import type { DueHorse } from './due.ts';
import { boundCounts, dueCounts, usualCounts } from './figures.ts';
import { PLANNED_PROBLEMS } from './options.ts';
import { AS_NOW, type Measure, PER_FEET, type WhatIf } from './what-if.ts';
import { againstUsual, horseName, NO_LIMIT, toleranceWords, weeksAndDays, whyWords } from './words.ts';

/** The sentences; figures as the tables show them. */
export function planFindings(answer: PlanAnswer): Finding[] {
  const { due } = answer;
  if (due.length === 0) return [];
  // So few are told one by one, not counted and compared.
  if (due.length < FEWEST_COMPARED) return due.map((horse) => oneHorse(horse, answer));
  return [round(answer), binding(answer), ...usual(answer), ...tradeOff(answer), ...lapsed(answer)];
}

function oneHorse({ plan, dueOn, daysOver }: DueHorse, { options, lengths }: PlanAnswer): Finding {
  const { horse, days } = plan;
  const usualWords = horse.usualDays === null ? '' : `, ${againstUsual(days, horse.usualDays)}`;
  const over = daysOver > 0 ? `, ${counted(daysOver, 'day', 'days')} ago` : '';
  return {
    sentence: `${horseName(horse)}: planned ${weeksAndDays(days)} (${counted(days, 'day', 'days')}) after the last visit${usualWords}; due on ${longDate(dueOn)}${over}. ${whyWords(plan, options, lengths)} From ${counted(horse.nCycles, 'trim cycle', 'trim cycles')} of its own and the herd’s; the foot in front of you decides.`,
    caution: CAUTIONS.foot_first,
    behind: {
      relation: 'foot_visit',
      where: isLevel('horse_id', horse.id),
      title: `visits of ${horseName(horse)}`,
    },
  };
}

function behindAll({ where, counts }: PlanAnswer): Finding['behind'] {
  return counts.cycles === 0
    ? null
    : { relation: 'trim_cycle', where, title: 'trim cycles of the horses planned' };
}

function round(answer: PlanAnswer): Finding {
  const { due, options, rounds } = answer;
  const [within, overdue] = dueCounts(answer);
  const clients = rounds.filter((client) => client.due.length > 0).length;
  const at = within.n === 0 ? '' : `, at ${counted(clients, 'client', 'clients')}`;
  return {
    sentence: `By these limits ${figure(within.n)} of ${horsesText(due.length)} on the round are due within ${counted(options.round_days, 'day', 'days')}${at}, ${figure(overdue.n)} of them past the day. A due day is a starting point; the foot in front of you decides.`,
    caution: CAUTIONS.foot_first,
    behind: behindAll(answer),
  };
}

function binding(answer: PlanAnswer): Finding {
  const bounds = boundCounts(answer);
  const told = bounds
    .filter(([level]) => level !== NO_LIMIT)
    .map(([level, n]) => `${level} for ${horsesText(n)}`);
  const free = bounds.find(([level]) => level === NO_LIMIT)?.[1] ?? 0;
  const most = weeksAndDays(Math.round(answer.options.most_weeks * 7));
  const least = weeksAndDays(Math.round(answer.options.least_weeks * 7));
  const sooner = dueCounts(answer)[2].n;
  const parts = [
    told.length > 0
      ? `What sets the interval is ${told.join(', ')}`
      : 'No limit sets the interval of any horse',
    ...(free > 0 ? [`${horsesText(free)} reach no limit within ${most}`] : []),
    ...(sooner > 0
      ? [
          `for ${horsesText(sooner)} these limits ask for sooner than ${least}, the least allowed, at which they are put`,
        ]
      : []),
  ];
  return { sentence: `${parts.join('; ')}.`, caution: null, behind: behindAll(answer) };
}

function usual(answer: PlanAnswer): Finding[] {
  const [sooner, later, same] = usualCounts(answer);
  if (sooner.n + later.n + same.n < FEWEST_COMPARED) return [];
  return [
    {
      sentence: `Beside each horse’s usual interval, the middle one of its record, the planned one is sooner for ${figure(sooner.n)}, later for ${figure(later.n)} and the same for ${figure(same.n)}.`,
      caution: null,
      behind: behindAll(answer),
    },
  ];
}

/** The shortest and the longest of the intervals asked about, beside how it is now: work and toes, then new cases. */
function tradeOff(answer: PlanAnswer): Finding[] {
  const { whatIf, options, lengths } = answer;
  const of = (scenario: string, measure: Measure): WhatIf | undefined =>
    whatIf.find((row) => row.scenario === scenario && row.measure === measure);
  const asked = whatIf
    .filter(({ measure, scenario }) => measure === 'visits' && /^\d/.test(scenario))
    .map(({ scenario }) => scenario);
  const [first, last] = [asked[0], asked.at(-1)];
  const now = of(AS_NOW, 'visits');
  if (!now || first === undefined || last === undefined || first === last) return [];
  if (now.counts.horses < FEWEST_COMPARED) return [];
  const visits = (scenario: string): string => figure(of(scenario, 'visits')!.estimate);
  const [short, long] = [of(first, 'past'), of(last, 'past')];
  const toes =
    short && long
      ? ` Toes grown past ${toleranceWords(options, lengths)} by the visit would be expected on ${share(short)} of feet at ${first} and on ${share(long)} at ${last}.`
      : '';
  return [
    {
      sentence: `Seeing every horse every ${first} would take some ${visits(first)} horse visits a year, every ${last} some ${visits(last)}; the intervals as now come to ${figure(now.estimate)}.${toes} From ${countsText(now.counts)}.`,
      caution: null,
      behind: behindAll(answer),
    },
    ...newCases([first, last], of, answer),
  ];
}

/** New cases expected at other intervals, less those expected as now. */
function newCases(
  asked: readonly string[],
  of: (scenario: string, measure: Measure) => WhatIf | undefined,
  answer: PlanAnswer,
): Finding[] {
  const told = asked.flatMap((scenario) => {
    const changes = PLANNED_PROBLEMS.flatMap((problem) => {
      const change = of(scenario, problem)?.change;
      return change ? [`${problemLabel(problem)} ${changeWords(change)}`] : [];
    });
    return changes.length > 0 ? [`Every horse at ${scenario}: ${changes.join('; ')}.`] : [];
  });
  if (told.length === 0) return [];
  return [
    {
      sentence: `New cases a year per ${PER_FEET} feet, those that clear again unseen among them, expected beyond those of the intervals as now (below 0 where fewer). ${told.join(' ')} Who is seen late now may differ in more than the interval, so moving a yard to another one need not bring these figures.`,
      caution: CAUTIONS.intervals_not_by_lot,
      behind: behindAll(answer),
    },
  ];
}

/** `−2.5 (95 % −5.9 to 0.8), which may be chance` */
function changeWords({ estimate, low, high }: Estimate): string {
  const chance = low <= 0 && high >= 0 ? ', which may be chance' : '';
  return `${figure(estimate, 1)} (${interval95(low, high, 1)})${chance}`;
}

/** A share whose whole interval lies below this is told so: figures of 0.0 would say that it cannot happen. */
const LEAST_SHARE = 0.001;

const share = ({ estimate, low, high }: WhatIf): string =>
  high! < LEAST_SHARE
    ? `under ${percent(LEAST_SHARE, 1)} (${percent(0.95)} under ${percent(LEAST_SHARE, 1)})`
    : `${percent(estimate, 1)} (${shareInterval95(low!, high!, 1)})`;

function lapsed({ lapsed: gone }: PlanAnswer): Finding[] {
  if (gone.length === 0) return [];
  return [
    {
      sentence: `${horsesText(gone.length)} last seen over half a year ago ${gone.length === 1 ? 'counts' : 'count'} as no longer on the round and ${gone.length === 1 ? 'stands' : 'stand'} apart.`,
      caution: null,
      behind: {
        relation: 'foot_visit',
        where: isOneOf(
          'horse_id',
          gone.map(({ id }) => id),
        ),
        title: 'horses no longer on the round',
      },
    },
  ];
}
