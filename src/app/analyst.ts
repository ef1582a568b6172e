import './no-eval.ts';
import type { AnalysisResult } from '../analyses/analysis.ts';
import { type Apart, JOBS, type JobName, type Task } from '../analyses/apart.ts';
import { analysisNamed } from '../analyses/index.ts';
import type { ShownLength } from '../analyses/lengths.ts';
import { makeMemory } from '../analyses/memory.ts';
import { pacer } from '../analyses/pacing.ts';
import type { CivilDay } from '../core/civil-day.ts';
import type { Engine } from '../engine/engine.ts';
import { makeQueue } from '../engine/in-turn.ts';
import { runAnalysis } from './answer.ts';
import { borrowedEngine, type LentMethods } from './lent-engine.ts';
import { type CallContext, connect } from './rpc.ts';

/** An analysis to be run over the cohort that the engine shows now. */
export interface Question {
  readonly use: string;
  readonly options: unknown;
  readonly lengths: ShownLength;
  readonly today: CivilDay;
  /** Told apart by it: what was worked out over one cohort is of use for its other questions. */
  readonly cohort: string;
  /** Another number after every change of the herd's rows. */
  readonly rows: number;
  /** Whether what follows from the whole herd's rows may be kept. */
  readonly keepsHerd: boolean;
  /** Whether its fits are to be made by whichever thread is free. */
  readonly sharesFits: boolean;
}

export interface Analyst {
  /** Answers as soon as it is not in the middle of something. */
  listens(): Promise<null>;
  /** A fit by itself. */
  work(task: Task, context: CallContext): Promise<unknown>;
  answer(question: Question, context: CallContext): Promise<AnalysisResult>;
}

/** There are two such threads. */
const MOST_BYTES = 140e6;

/** Job and input were paired by whoever asked. */
export function doJob({ job, input }: Task, signal: AbortSignal): Promise<unknown> {
  const make = JOBS[job] as (input: unknown, pause: () => Promise<void>) => Promise<unknown>;
  return make(input, pacer(signal));
}

/** Over the engine that answers at the other end of a port. */
export function analystOver(port: MessagePort): Analyst {
  const owner = connect<LentMethods>(port);
  port.start();
  return makeAnalyst(borrowedEngine(owner), (task, signal) => owner.call('fit', task, { signal }));
}

/** Runs analyses over an engine; `makeFit` has a fit made by whichever thread is free. */
function makeAnalyst(
  engine: Engine,
  makeFit: (task: Task, signal: AbortSignal) => Promise<unknown>,
): Analyst {
  let memory = makeMemory(MOST_BYTES);
  let rowsSeen = Number.NaN;
  // One fit after the other: two at once would both be late.
  const inTurn = makeQueue();
  return {
    listens: async () => null,
    work: (task, { signal }) => inTurn(() => doJob(task, signal)),
    async answer(question, { signal, progress, part }) {
      const { use, options, lengths, today, cohort, rows, keepsHerd, sharesFits } = question;
      if (rows !== rowsSeen) {
        memory = makeMemory(MOST_BYTES);
        rowsSeen = rows;
      }
      const analysis = analysisNamed(use);
      const { remember } = memory.over(cohort);
      const rememberHerd = keepsHerd ? memory.over('').remember : undefined;
      const apart = sharesFits
        ? (((job: JobName, input: unknown) => makeFit({ job, input }, signal)) as Apart)
        : undefined;
      const context = { engine, today, signal, progress, draft: part, remember, rememberHerd, apart };
      return runAnalysis(analysis, analysis.options.parse(options), lengths, context);
    },
  };
}
