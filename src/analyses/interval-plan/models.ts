import { isUnavailable, type Outcome, type Unavailable } from '../../core/outcome.ts';
import type { AnalysisContext } from '../analysis.ts';
import { type GrowthForecast, growthForecast } from '../growth/forecast.ts';
import { type SeasonOf, seasonsOf } from './data.ts';
import { PLANNED_PROBLEMS, type PlanOptions } from './options.ts';
import { allowedDays, type PlanModels } from './plan.ts';
import { type RiskModel, riskAhead, riskModel } from './risk.ts';

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
  context: Pick<AnalysisContext, 'engine' | 'signal'>,
  step: (fraction: number, stage: string) => Promise<void> = async () => undefined,
): Promise<FittedModels> {
  await step(0, 'Fitting toe growth');
  const growth = await growthForecast(context);
  const models: RiskModel[] = [];
  const refused: Unavailable[] = isUnavailable(growth) ? [growth] : [];
  for (const [k, problem] of PLANNED_PROBLEMS.entries()) {
    await step((k + 1) / (PLANNED_PROBLEMS.length + 1), 'Fitting risks');
    const model = await riskModel(problem, context);
    if (isUnavailable(model)) refused.push(model);
    else {
      models.push(model);
      refused.push(...model.notes);
    }
  }
  return { growth, models, seasonOf: await seasonsOf(context), refused };
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
