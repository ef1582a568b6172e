import type { IntervalData } from '../stats/interval-data.ts';
import { fitOnsetSinceReset, type ResetFit } from '../stats/onset-since-reset.ts';
import type { TransitionData } from '../stats/transition-data.ts';
import { turnbullBandSteps } from '../stats/turnbull-bands.ts';
import { paced } from './pacing.ts';

type Pause = () => Promise<void>;

interface BandsInput {
  readonly data: IntervalData;
  readonly cluster: Int32Array;
  readonly options: Parameters<typeof turnbullBandSteps>[2];
}

interface ResetInput {
  readonly data: TransitionData;
  /** Where the search begins: a fit of the same rows with fewer terms. */
  readonly near?: ResetFit | undefined;
}

/** Fits that need nothing but their numbers, so that any thread can make them. */
export const JOBS = {
  'turnbull bands': ({ data, cluster, options }: BandsInput, pause: Pause) =>
    paced(turnbullBandSteps(data, cluster, options), pause),
  'onset since reset': async ({ data, near }: ResetInput) => fitOnsetSinceReset(data, near ? { near } : {}),
} as const;

export type JobName = keyof typeof JOBS;
export type JobInput<K extends JobName> = Parameters<(typeof JOBS)[K]>[0];

/** Has a fit made in another thread, while this one does something else. */
export type Apart = <K extends JobName>(job: K, input: JobInput<K>) => ReturnType<(typeof JOBS)[K]>;
