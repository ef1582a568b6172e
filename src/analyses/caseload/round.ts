import type { CivilDay } from '../../core/civil-day.ts';
import { ahead } from '../ahead.ts';
import type { AnalysisContext, AskContext } from '../analysis.ts';
import { type HorseNow, horsesNow } from '../interval-plan/data.ts';
import { dueHorse, isLapsed } from '../interval-plan/due.ts';
import { fitModels, modelsAhead } from '../interval-plan/models.ts';
import { optionsSchema as planSchema } from '../interval-plan/options.ts';
import { planner } from '../interval-plan/plan.ts';
import { pacer } from '../pacing.ts';
import { cohortVisits, horseOf, lastDays } from '../visit-rows.ts';
import type { Due } from './attention.ts';
import type { CaseloadOptions } from './options.ts';

/** A horse on the round: when it was seen, and when it is due; null where that cannot be told. */
export interface RoundHorse {
  readonly horse: HorseNow;
  readonly due: Due | null;
  /** Its visit before the last; null without one. */
  readonly previousVisit: number | null;
}

export interface Round {
  readonly horses: readonly RoundHorse[];
  /** Unseen for over half a year. */
  readonly lapsed: number;
}

export async function roundOf(
  { due }: CaseloadOptions,
  day: CivilDay,
  context: AskContext & Pick<AnalysisContext, 'progress'>,
): Promise<Round> {
  const rule = ahead(context, async () => (due === 'plan' ? byPlan(day, context) : byUsual(day)));
  const asked = ahead(context, () => previousVisits(context));
  const all = await horsesNow(context);
  const on = all.filter(({ lastVisit }) => !isLapsed(lastVisit, day));
  const previous = await asked();
  const dueOf = await rule();
  const pause = pacer(context.signal);
  const horses: RoundHorse[] = [];
  for (const horse of on) {
    horses.push({ horse, due: dueOf(horse), previousVisit: previous.get(horse.id) ?? null });
    await pause();
  }
  return { horses, lapsed: all.length - on.length };
}

type DueOf = (horse: HorseNow) => Due | null;

const byUsual =
  (day: CivilDay): DueOf =>
  ({ usualDays, lastVisit }) =>
    usualDays === null ? null : { day: lastVisit + usualDays, daysOver: day - lastVisit - usualDays };

/** By the interval plan under its starting limits (docs/methods/interval-plan.md). */
async function byPlan(
  day: CivilDay,
  context: AskContext & Pick<AnalysisContext, 'progress'>,
): Promise<DueOf> {
  const options = planSchema.parse({});
  const fitted = await fitModels(context, async (fraction, stage) =>
    context.progress(0.2 + 0.5 * fraction, stage),
  );
  const planOf = planner(options, modelsAhead(fitted, options));
  return (horse) => {
    const plan = planOf(horse);
    if (!plan) return null;
    const { dueOn, daysOver } = dueHorse(plan, day);
    return { day: dueOn, daysOver };
  };
}

/** The day of the visit before the last, by horse; of those with one. */
async function previousVisits(context: AskContext): Promise<Map<string, number>> {
  const visits = await cohortVisits(context, []);
  const { places, horseIds, foot, day } = visits;
  const last = lastDays(visits);
  const previous = new Float64Array(horseIds.length).fill(Number.NEGATIVE_INFINITY);
  for (const row of places) {
    const horse = horseOf(foot[row]!);
    if (day[row] !== last[horse] && day[row]! > previous[horse]!) previous[horse] = day[row]!;
  }
  return new Map(
    horseIds.flatMap((id, horse) => (Number.isFinite(previous[horse]) ? [[id, previous[horse]!]] : [])),
  );
}
