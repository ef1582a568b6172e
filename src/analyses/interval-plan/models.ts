import { isUnavailable, type Outcome, type Unavailable, unavailable } from '../../core/outcome.ts';
import { problemLabel } from '../../herd/problems.ts';
import { ahead } from '../ahead.ts';
import { type AskContext, remembered } from '../analysis.ts';
import type { Apart } from '../apart.ts';
import { type GrowthForecast, growthForecast } from '../growth/forecast.ts';
import { type SeasonOf, seasonsOf } from './data.ts';
import { PLANNED_PROBLEMS, type PlannedProblem, type PlanOptions } from './options.ts';
import { allowedDays, type PlanModels } from './plan.ts';
import { type RiskModel, type RiskNote, riskAhead, riskModel } from './risk.ts';

const WORDS = new Intl.ListFormat('en-GB', { type: 'disjunction' });

/** What is fitted to the herd, whatever the limits are. */
export interface FittedModels {
  readonly growth: Outcome<GrowthForecast>;
  /** Of the problems whose risk can be told. */
  readonly models: readonly RiskModel[];
  readonly seasonOf: SeasonOf;
  /** What could not be told, and what could not be held alike. */
  readonly refused: readonly Unavailable[];
}

/** `step` is told before each fit how far it is, 0–1. */
export async function fitModels(
  context: AskContext,
  step: (fraction: number, stage: string) => Promise<void> = async () => undefined,
): Promise<FittedModels> {
  // The risks first: they ask for little things before they ask for rows, and another thread is to fit them meanwhile.
  const risks = PLANNED_PROBLEMS.map((problem) => askRisk(problem, context));
  const seasons = ahead(context, () => seasonsOf(context));
  await step(0, 'Fitting toe growth');
  const growth = await growthForecast(context, { after: Promise.all(risks.map(({ begun }) => begun)) });
  const models: RiskModel[] = [];
  const notes: RiskNote[] = [];
  for (const [k, risk] of risks.entries()) {
    await step((k + 1) / (risks.length + 1), 'Fitting risks');
    const found = await risk.found();
    if (found.model) models.push(found.model);
    notes.push(...found.notes);
  }
  const refused = [...(isUnavailable(growth) ? [growth] : []), ...saidOnce(notes)];
  return { growth, models, seasonOf: await seasons(), refused };
}

interface RiskAsked {
  /** Settled as soon as another thread has its fit to make; at once where there is none. */
  readonly begun: Promise<unknown>;
  found(): ReturnType<typeof riskModel>;
}

function askRisk(problem: PlannedProblem, context: AskContext): RiskAsked {
  const { apart, engine } = context;
  const of = (asking: AskContext) =>
    ahead(asking, () => remembered(asking, `risk ahead ${problem}`, () => riskModel(problem, asking)));
  if (!apart || !engine.worksAhead) return { begun: Promise.resolve(), found: of(context) };
  let tell = (): void => undefined;
  const handedOver = new Promise<void>((resolve) => {
    tell = resolve;
  });
  const found = of({
    ...context,
    apart: ((job, input) => {
      tell();
      return apart(job, input);
    }) as Apart,
  });
  // It may be there already, or have no rows to be fitted to.
  return { begun: Promise.race([handedOver, found().catch(() => undefined)]), found };
}

/** What holds for several problems is one sentence. */
function saidOnce(notes: readonly RiskNote[]): Unavailable[] {
  const alike = new Map<string, RiskNote[]>();
  for (const note of notes) {
    const key = note.sentence('');
    alike.set(key, [...(alike.get(key) ?? []), note]);
  }
  return Array.from(alike.values(), (same) => {
    const problems = same.flatMap(({ problem }) => (problem ? [problemLabel(problem)] : []));
    const { reason, sentence } = same[0]!;
    return unavailable(reason, sentence(`the risk of ${WORDS.format(problems)}`));
  });
}

/** The same as limits are asked of them: with the confidence and as far ahead as the options say. */
export function modelsAhead({ growth, models, seasonOf }: FittedModels, options: PlanOptions): PlanModels {
  const { most } = allowedDays(options);
  return {
    growth,
    risks: new Map(
      models.map((model) => [model.problem, riskAhead(model, seasonOf, most, options.confidence)]),
    ),
  };
}
