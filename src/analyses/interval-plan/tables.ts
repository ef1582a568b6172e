import { repeatedTexts, sentTextColumn } from '../../core/sent-texts.ts';
import {
  type CodedTexts,
  type Column,
  codedOf,
  dayColumn,
  makeTable,
  numberColumn,
  type TextColumn,
  textColumn,
} from '../../core/table.ts';
import { problemLabel } from '../../herd/problems.ts';
import type { ResultColumn, ResultTable } from '../analysis.ts';
import { tied } from '../format.ts';
import { allOf, isLevel } from '../groups.ts';
import { behindColumns, shareColumn } from '../result-parts.ts';
import type { PlannedRound } from './answer.ts';
import type { HorseNow } from './data.ts';
import type { FootLimit, HorsePlan } from './plan.ts';
import {
  againstUsual,
  boundWords,
  horseName,
  limitWords,
  per30Days,
  standingWords,
  weeksAndDays,
  whyWords,
} from './words.ts';

const HORSE: readonly ResultColumn[] = [
  { name: 'client_id', label: 'Client' },
  { name: 'horse_id', label: 'Horse' },
  { name: 'horse_name', label: 'Name' },
];
const LAST_VISIT: ResultColumn = { name: 'last_visit', label: 'Last visit' };
const PLAN_DAYS: ResultColumn = { name: 'plan_days', label: 'Planned interval', unit: 'd', digits: 0 };
const BOUND_BY: ResultColumn = { name: 'bound_by', label: 'Limit that binds' };
const STANDING: ResultColumn = { name: 'standing', label: 'Standing at the last visit' };

/**
 * What every table says of the horse in a row, and of the cycles that its figures rest on (its forecasts on those of the
 * whole herd as well). Of rows that are of the horses in these places; without places, one row a horse.
 */
interface HorseTexts {
  named(places?: Int32Array): Record<string, Column>;
  behind(places?: Int32Array): Record<string, Column>;
}

/** Each horse is put in words once for all tables. */
export function horseTexts(horses: readonly HorseNow[]): HorseTexts {
  const coded = (texts: readonly (string | null)[]): CodedTexts => codedOf({ type: 'text', values: texts });
  const inRows =
    (told: Readonly<Record<string, CodedTexts>>) =>
    (places?: Int32Array): Record<string, Column> =>
      Object.fromEntries(
        Object.entries(told).map(([name, { codes, levels }]) => [
          name,
          sentTextColumn({ codes: places ? places.map((place) => codes[place]!) : codes, levels }),
        ]),
      );
  return {
    named: inRows({
      client_id: coded(horses.map(({ client }) => client)),
      horse_id: coded(horses.map(({ id }) => id)),
      horse_name: coded(horses.map(horseName)),
    }),
    behind: inRows({
      behind: coded(horses.map(({ id }) => allOf('flag IS NULL', isLevel('horse_id', id)))),
      behind_title: coded(horses.map((horse) => `trim cycles of ${horseName(horse)}`)),
    }),
  };
}

/** What two tables say of every plan in the same words, horse by horse. */
interface PlanTexts {
  readonly boundBy: TextColumn;
  readonly standing: TextColumn;
}

export const planTexts = ({ due }: PlannedRound): PlanTexts => ({
  boundBy: repeatedTexts(due.map(({ plan }) => boundWords(plan))),
  standing: repeatedTexts(due.map(({ plan }) => standingWords(plan.horse))),
});

/** One row a horse on the round: its interval, the limit that binds, and why. */
export function planTable(
  { due, options, lengths }: PlannedRound,
  texts: HorseTexts,
  { boundBy, standing }: PlanTexts,
): ResultTable {
  const plans = due.map(({ plan }) => plan);
  const horses = plans.map(({ horse }) => horse);
  const apart = ({ days, horse }: HorsePlan): number | null =>
    horse.usualDays === null ? null : days - horse.usualDays;
  return {
    name: 'plan',
    title: 'Interval of each horse',
    relation: 'trim_cycle',
    columns: [
      ...HORSE,
      PLAN_DAYS,
      { name: 'plan_weeks', label: 'In weeks' },
      BOUND_BY,
      { name: 'usual_days', label: 'Usual interval', unit: 'd', digits: 0 },
      { name: 'change_days', label: 'Planned less usual', unit: 'd', digits: 0 },
      { name: 'why', label: 'Why' },
      STANDING,
      { name: 'n_feet', label: 'Feet', digits: 0 },
      { name: 'n_cycles', label: 'Trim cycles', digits: 0 },
    ],
    table: makeTable({
      ...texts.named(),
      last_visit: dayColumn(horses.map((horse) => horse.lastVisit)),
      plan_days: numberColumn(plans.map((plan) => plan.days)),
      plan_weeks: repeatedTexts(plans.map((plan) => tied(weeksAndDays(plan.days)))),
      bound_by: boundBy,
      binding: repeatedTexts(plans.map(({ binding }) => (binding ? limitWords(binding.key) : 'none'))),
      sooner: repeatedTexts(plans.map(({ isSooner }) => (isSooner ? 'yes' : 'no'))),
      usual_days: numberColumn(horses.map((horse) => horse.usualDays)),
      change_days: numberColumn(plans.map(apart)),
      change: repeatedTexts(
        plans.map(({ days, horse }) =>
          horse.usualDays === null ? null : againstUsual(days, horse.usualDays),
        ),
      ),
      why: textColumn(plans.map((plan) => whyWords(plan, options, lengths))),
      standing,
      n_feet: numberColumn(horses.map((horse) => horse.feet.length)),
      n_cycles: numberColumn(horses.map((horse) => horse.nCycles)),
      ...texts.behind(),
    }),
  };
}

/** By client and then longest overdue first: a day's round from the top. */
export function dueTable(
  { due }: PlannedRound,
  texts: HorseTexts,
  { boundBy, standing }: PlanTexts,
): ResultTable {
  const horses = due.map(({ plan }) => plan.horse);
  return {
    name: 'due',
    title: 'When each horse is due',
    relation: 'trim_cycle',
    columns: [
      ...HORSE,
      LAST_VISIT,
      PLAN_DAYS,
      { name: 'due_on', label: 'Due' },
      { name: 'days_over', label: 'Days past it', digits: 0 },
      BOUND_BY,
      STANDING,
    ],
    table: makeTable({
      ...texts.named(),
      last_visit: dayColumn(horses.map((horse) => horse.lastVisit)),
      plan_days: numberColumn(due.map(({ plan }) => plan.days)),
      due_on: dayColumn(due.map(({ dueOn }) => dueOn)),
      days_over: numberColumn(due.map(({ daysOver }) => daysOver)),
      bound_by: boundBy,
      standing,
      ...texts.behind(),
    }),
  };
}

const NO_CLIENT = 'no client recorded';

/** One row a client. */
export function roundTable({ rounds }: PlannedRound): ResultTable {
  return {
    name: 'round',
    title: 'The round by client',
    relation: 'foot_visit',
    columns: [
      { name: 'client_id', label: 'Client' },
      { name: 'n_due', label: 'Horses due', digits: 0 },
      { name: 'n_overdue', label: 'Of these overdue', digits: 0 },
      { name: 'next_due', label: 'First due' },
      { name: 'who', label: 'Who, longest overdue first' },
      { name: 'n_horses', label: 'Horses on the round', digits: 0 },
    ],
    table: makeTable({
      client_id: textColumn(rounds.map(({ client }) => client ?? NO_CLIENT)),
      n_due: numberColumn(rounds.map(({ due }) => due.length)),
      n_overdue: numberColumn(rounds.map(({ overdue }) => overdue)),
      next_due: dayColumn(rounds.map(({ nextDue }) => nextDue)),
      who: textColumn(rounds.map(({ due }) => due.map(({ plan }) => horseName(plan.horse)).join(', '))),
      n_horses: numberColumn(rounds.map(({ horses }) => horses.length)),
      ...behindColumns(
        rounds.map(({ client }) => ({
          where: client === null ? 'client_id IS NULL' : isLevel('client_id', client),
          title: `visits of ${client ?? 'horses without a client'}`,
        })),
      ),
    }),
  };
}

export function lapsedTable({ lapsed, today }: PlannedRound): ResultTable {
  const texts = horseTexts(lapsed);
  return {
    name: 'lapsed',
    title: 'No longer on the round',
    relation: 'trim_cycle',
    columns: [...HORSE, LAST_VISIT, { name: 'days_since', label: 'Days since', digits: 0 }],
    table: makeTable({
      ...texts.named(),
      last_visit: dayColumn(lapsed.map((horse) => horse.lastVisit)),
      days_since: numberColumn(lapsed.map((horse) => today - horse.lastVisit)),
      ...texts.behind(),
    }),
  };
}

/** One row a foot: how fast it is expected to grow and how long it stays within the tolerance. */
export function feetTable({ due, options }: PlannedRound, texts: HorseTexts): ResultTable {
  const rows = due.flatMap(({ plan }, place) => plan.toes.map((toe) => ({ plan, toe, place })));
  const places = Int32Array.from(rows, ({ place }) => place);
  const ahead = rows.map(({ plan, toe }) => toe.at(plan.days));
  return {
    name: 'feet',
    title: 'Toe growth expected over the interval planned',
    relation: 'trim_cycle',
    columns: [
      ...HORSE,
      { name: 'foot', label: 'Foot' },
      { name: 'rate', label: 'Growth expected', unit: 'mm per 30 days', digits: 1 },
      { name: 'regrowth', label: 'By the visit planned', unit: 'mm', digits: 1 },
      {
        name: 'regrowth_within',
        label: `At most, ${Math.round(options.confidence * 100)} times of 100`,
        unit: 'mm',
        digits: 1,
      },
      { name: 'limit_days', label: 'Within the tolerance for', unit: 'd', digits: 0 },
    ],
    table: makeTable({
      ...texts.named(places),
      foot: repeatedTexts(rows.map(({ toe }) => toe.foot.foot)),
      plan_days: numberColumn(rows.map(({ plan }) => plan.days)),
      rate: numberColumn(rows.map(({ plan }, i) => per30Days(ahead[i]!.expected, plan.days))),
      regrowth: numberColumn(ahead.map(({ expected }) => expected)),
      regrowth_within: numberColumn(ahead.map(({ bound }) => bound)),
      limit_days: numberColumn(rows.map(({ toe }) => toe.days)),
      reached: reachedColumn(rows.map(({ toe }) => toe)),
      ...texts.behind(places),
    }),
  };
}

const reachedColumn = (limits: readonly FootLimit[]) =>
  repeatedTexts(limits.map(({ isReached }) => (isReached ? 'yes' : 'no')));

/** One row a horse and problem of which a clear foot's risk can be told. */
export function risksTable({ due, options }: PlannedRound, texts: HorseTexts): ResultTable {
  const rows = due.flatMap(({ plan }, place) => plan.risks.map((risk) => ({ plan, risk, place })));
  const places = Int32Array.from(rows, ({ place }) => place);
  const ahead = rows.map(({ plan, risk }) => risk.at(plan.days));
  return {
    name: 'risks',
    title: 'Risk of a clear foot over the interval planned',
    relation: 'trim_cycle',
    columns: [
      ...HORSE,
      { name: 'problem', label: 'Problem' },
      shareColumn('risk', 'Risk at the interval planned'),
      shareColumn('risk_within', `At most, with ${Math.round(options.confidence * 100)} % confidence`),
      { name: 'limit_days', label: 'Under the limit for', unit: 'd', digits: 0 },
    ],
    table: makeTable({
      ...texts.named(places),
      problem: repeatedTexts(rows.map(({ risk }) => (risk.key === 'toe' ? null : problemLabel(risk.key)))),
      plan_days: numberColumn(rows.map(({ plan }) => plan.days)),
      risk: numberColumn(ahead.map(({ expected }) => expected)),
      risk_within: numberColumn(ahead.map(({ bound }) => bound)),
      limit_days: numberColumn(rows.map(({ risk }) => risk.days)),
      reached: reachedColumn(rows.map(({ risk }) => risk)),
      ...texts.behind(places),
    }),
  };
}
