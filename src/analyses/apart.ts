import { changeScan, type ScanData } from '../stats/change-scan.ts';
import { type GainingUnits, type GainPlan, gainsPast } from '../stats/gains-past.ts';
import { fitNestedSlopes } from '../stats/nested-slopes.ts';
import type { NestedSlopesData } from '../stats/nested-sums.ts';
import { fitOnsetSinceReset, type ResetFit } from '../stats/onset-since-reset.ts';
import { type CyclePlans, onsetRates } from '../stats/reset-cycle.ts';
import { type ResetMix, type RiskFit, resetRiskMeans } from '../stats/standardise.ts';
import type { TransitionCells, TransitionData } from '../stats/transition-data.ts';
import { type LimitTask, shareLimit } from '../stats/turnbull-limits.ts';
import { type ReplicateTask, replicateSteps } from '../stats/turnbull-replicates.ts';
import { askQuestion } from './entry-points/ask-question.ts';
import { checkChain, fitChain } from './interval-effect/chains.ts';
import { paced } from './pacing.ts';

type Pause = () => Promise<void>;

interface ReplicatesInput {
  readonly task: ReplicateTask;
  /** Which of them: from this number up to before that, counted from 0. */
  readonly from: number;
  readonly to: number;
}

interface ResetInput {
  readonly data: TransitionData | TransitionCells;
}

interface RiskInput {
  readonly fit: RiskFit;
  readonly mix: ResetMix;
  readonly times: readonly number[];
}

interface GainsInput {
  readonly units: GainingUnits;
  readonly plans: readonly GainPlan[];
  readonly limit: number;
}

interface RatesInput {
  readonly fit: ResetFit;
  readonly plans: CyclePlans;
  readonly against: number;
}

interface SlopesInput {
  readonly data: NestedSlopesData;
  readonly names: readonly string[];
}

/** Fits that need nothing but their numbers, so that any thread can make them. */
export const JOBS = {
  'turnbull replicates': ({ task, from, to }: ReplicatesInput, pause: Pause) =>
    paced(replicateSteps(task, from, to), pause),
  'turnbull limit': async (task: LimitTask) => shareLimit(task),
  'onset since reset': async ({ data }: ResetInput) => fitOnsetSinceReset(data),
  'risk by time': async ({ fit, mix, times }: RiskInput) => resetRiskMeans(fit, mix, times),
  'onset rates': async ({ fit, plans, against }: RatesInput) => onsetRates(fit, plans, against),
  'gains past': async ({ units, plans, limit }: GainsInput) =>
    plans.map((plan) => gainsPast(units, plan, limit)),
  'change scan': async (data: ScanData) => changeScan(data),
  'nested slopes': async ({ data, names }: SlopesInput) => fitNestedSlopes(data, { names }),
  'entry question': askQuestion,
  'interval fits': fitChain,
  'interval checks': checkChain,
} as const;

export type JobName = keyof typeof JOBS;

/** One of them with its numbers, as it goes from thread to thread. */
export interface Task {
  readonly job: JobName;
  readonly input: unknown;
}

/** What bands are made of: charts are drawn of the rest before. */
export const OF_BANDS: ReadonlySet<JobName> = new Set(['turnbull replicates', 'turnbull limit']);

type JobInput<K extends JobName> = Parameters<(typeof JOBS)[K]>[0];

/** Has a fit made by the thread that is free first. Several asked for at once keep all at work. */
export type Apart = <K extends JobName>(job: K, input: JobInput<K>) => ReturnType<(typeof JOBS)[K]>;

/** Where there is no other thread: each is made at once, here. */
export const made = (pause: Pause): Apart =>
  ((job: JobName, input: never) =>
    (JOBS[job] as (of: never, pause: Pause) => unknown)(input, pause)) as Apart;
