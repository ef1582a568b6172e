import { type CivilDay, isoFromDay } from '../../core/civil-day.ts';
import { type Unavailable, unavailable } from '../../core/outcome.ts';
import { literal } from '../../engine/sql-text.ts';
import { CASE_DEFINITION } from '../../herd/problems.ts';
import { ahead } from '../ahead.ts';
import type { Analysis, AnalysisResult, ResultTable } from '../analysis.ts';
import { CAUTIONS } from '../cautions.ts';
import { horsesText } from '../format.ts';
import { allOf, isLevel, isOneOf } from '../groups.ts';
import { lengthWords } from '../lengths.ts';
import { recordDay } from '../load-herd.ts';
import { pacer } from '../pacing.ts';
import type { PlanAnswer, PlannedRound } from './answer.ts';
import { type HorseNow, horsesNow } from './data.ts';
import { dueHorse, isLapsed, roundByClient } from './due.ts';
import { changesTable, planEstimates, whatIfTable } from './figures.ts';
import { planFindings } from './findings.ts';
import { fitModels, modelsAhead } from './models.ts';
import { optionsSchema, type PlanOptions, ROUND_ENDS_DAYS } from './options.ts';
import { allowedDays, type HorsePlan, planner } from './plan.ts';
import type { RiskModel } from './risk.ts';
import {
  dueTable,
  feetTable,
  horseTexts,
  lapsedTable,
  planTable,
  planTexts,
  risksTable,
  roundTable,
} from './tables.ts';
import { whatIf } from './what-if.ts';

/**
 * For each horse the longest interval that keeps its toes within a tolerance and the risk of a new problem under a
 * limit, with the confidence asked for; who is due; and what the whole base would come to at other intervals.
 */
export const intervalPlan: Analysis<PlanOptions> = {
  name: 'interval-plan',
  title: 'Interval plan',
  question: 'How soon should each horse be seen again, by one’s own limits?',
  options: optionsSchema,
  async run(options, context) {
    const { engine, signal, progress } = context;
    const today = await recordDay(engine, context.today);
    const asked = ahead({ engine }, () => horsesNow(context));
    const pause = pacer(signal);
    const fitted = await fitModels(context, async (fraction, stage) => {
      progress(0.1 + 0.6 * fraction, stage);
      await pause();
    });
    progress(0.7, 'Planning each horse');
    const horses = await asked();
    const { growth, models } = fitted;
    const planOf = planner(options, modelsAhead(fitted, options));
    const sorted = await sortHorses(horses, options, today, planOf, pause);
    progress(0.85, 'Weighing other intervals');
    await pause();
    const { plans } = sorted;
    const where = roundWhere(options, today, sorted.unplanned);
    const base = plans.filter(({ horse }) => horse.usualDays !== null);
    const weighing =
      options.horse === ''
        ? whatIf({ options, today, base, baseWhere: where, growth, models }, context)
        : Promise.resolve({ rows: [], refused: [] });
    // Told below, where it is waited for.
    weighing.catch(() => undefined);
    const round: PlannedRound = {
      options,
      lengths: lengthWords(context.lengths),
      today,
      ...dueOf(plans, options, today),
      lapsed: sorted.lapsed,
      unplanned: sorted.unplanned,
      where,
      counts: {
        horses: plans.length,
        feet: plans.reduce((sum, { horse }) => sum + horse.feet.length, 0),
        cycles: plans.reduce((sum, { horse }) => sum + horse.nCycles, 0),
      },
    };
    // Of every foot a row: made while the plans are weighed.
    const tables = horseTables(round);
    const weighed = await weighing;
    const refused = [...fitted.refused, ...weighed.refused];
    return present({ ...round, whatIf: weighed.rows, refused }, tables, horses.length === 0, models);
  },
};

interface SortedHorses {
  readonly plans: readonly HorsePlan[];
  readonly lapsed: readonly HorseNow[];
  readonly unplanned: readonly HorseNow[];
}

/** Horses no longer on the round, those with a plan and those without; of one horse alone, it is planned in any case. */
async function sortHorses(
  horses: readonly HorseNow[],
  { horse: only }: PlanOptions,
  today: CivilDay,
  planOf: (horse: HorseNow) => HorsePlan | null,
  pause: () => Promise<void>,
): Promise<SortedHorses> {
  const plans: HorsePlan[] = [];
  const lapsed: HorseNow[] = [];
  const unplanned: HorseNow[] = [];
  for (const [i, horse] of horses.entries()) {
    if (only !== '' && horse.id !== only) continue;
    // To ask at every horse whether it is time takes longer than some horses do.
    if (i % 16 === 0) await pause();
    if (only === '' && isLapsed(horse.lastVisit, today)) {
      lapsed.push(horse);
      continue;
    }
    const plan = planOf(horse);
    if (plan) plans.push(plan);
    else unplanned.push(horse);
  }
  return { plans, lapsed, unplanned };
}

function dueOf(
  plans: readonly HorsePlan[],
  options: PlanOptions,
  today: CivilDay,
): Pick<PlanAnswer, 'due' | 'rounds'> {
  const rounds = roundByClient(
    plans.map((plan) => dueHorse(plan, today)),
    options.round_days,
  );
  const named = [...rounds].sort((a, b) => ((a.client ?? '') < (b.client ?? '') ? -1 : 1));
  return { rounds, due: named.flatMap(({ horses }) => horses) };
}

/** Unflagged cycles of the horses planned. */
function roundWhere({ horse }: PlanOptions, today: CivilDay, unplanned: readonly HorseNow[]): string {
  const from = isoFromDay(today - ROUND_ENDS_DAYS);
  return allOf(
    'flag IS NULL',
    horse === ''
      ? `horse_id IN (SELECT horse_id FROM foot_visit GROUP BY horse_id HAVING max(visit_date) >= DATE ${literal(from)})`
      : isLevel('horse_id', horse),
    unplanned.length === 0
      ? null
      : `NOT ${isOneOf(
          'horse_id',
          unplanned.map(({ id }) => id),
        )}`,
  );
}

interface HorseTables {
  readonly planned: readonly ResultTable[];
  readonly lapsed: ResultTable;
}

function horseTables(round: PlannedRound): HorseTables {
  const texts = horseTexts(round.due.map(({ plan }) => plan.horse));
  const said = planTexts(round);
  return {
    planned: [
      planTable(round, texts, said),
      dueTable(round, texts, said),
      roundTable(round),
      feetTable(round, texts),
      risksTable(round, texts),
    ],
    lapsed: lapsedTable(round),
  };
}

function present(
  answer: PlanAnswer,
  { planned, lapsed }: HorseTables,
  isEmpty: boolean,
  models: readonly RiskModel[],
): AnalysisResult {
  return {
    analysis: 'interval-plan',
    tables: [planEstimates(answer), ...planned, whatIfTable(answer), changesTable(answer), lapsed],
    findings: planFindings(answer),
    unavailable: isEmpty
      ? [unavailable('no-rows', 'there are no visits here, so nothing can be planned.')]
      : [...answer.refused, ...withoutPlan(answer)],
    assumes: assumptions(answer, models),
    cautions: [CAUTIONS.foot_first, CAUTIONS.intervals_not_by_lot, CAUTIONS.call_vet],
    method: {
      name: 'Longest interval within limits: growth foretold by a mixed model, risk by a two-state model with its clock set to zero at each trim, both with one-sided confidence',
      source:
        'Robinson 1991, Stat Sci 6:15–32; Kalbfleisch & Lawless 1985, J Am Stat Assoc 80:863–871; Kemeny & Snell 1960, Finite Markov Chains',
      doc: 'docs/methods/interval-plan.md',
    },
    counts: answer.counts,
  };
}

function withoutPlan({ unplanned, due, options, lapsed }: PlanAnswer): Unavailable[] {
  if (unplanned.length > 0) {
    return [
      unavailable(
        'no-rows',
        `${horsesText(unplanned.length)} could not be planned: neither growth ahead nor a risk can be told of ${unplanned.length === 1 ? 'it' : 'them'}.`,
      ),
    ];
  }
  if (due.length > 0) return [];
  if (options.horse !== '') return [unavailable('no-rows', 'this horse is not among those in view.')];
  return lapsed.length > 0
    ? [unavailable('no-rows', 'no horse here was seen in the last half year, so none is on the round.')]
    : [];
}

function assumptions({ options }: PlanAnswer, models: readonly RiskModel[]): string[] {
  const { most } = allowedDays(options);
  const longest = Math.max(most, ...options.weeks.map((week) => week * 7));
  const shortOf = models.filter(({ fit }) => fit.timeRange[1] < longest);
  return [
    'The toe counts from its length after the last trim, on the ground last recorded; the fastest foot sets the horse’s interval.',
    'A risk is of one clear foot, and the horse’s clear foot at most risk counts. That any one of its feet is affected is likelier than that.',
    'Feet of one breed type on one ground in one season are taken to be at one risk; a horse that is prone by itself is not told apart. Feet that are affected now have no risk of onset: what stands on them is listed instead.',
    'New cases are those of the long run at one interval, those that clear again unseen among them, with ground and moisture as they are now. As now stands for each horse’s usual interval.',
    'The limits set are choices; no published limit stands behind them.',
    ...(shortOf.length > 0
      ? [
          'The longest interval asked about is longer than any on record, so its risk is drawn out beyond what was seen.',
        ]
      : []),
    CASE_DEFINITION,
  ];
}
