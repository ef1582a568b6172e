import type { ReadonlySignal } from '@preact/signals';
import type { PageExecutor } from '../pages/page-executor.ts';
import type { HerdMethods } from './herd-service.ts';
import type { Caller } from './rpc.ts';

/** Lets a page compute in the herd's worker. */
export function pageExecutor(herd: Caller<HerdMethods>, cohortVersion: ReadonlySignal<number>): PageExecutor {
  return {
    cohortVersion,
    runQuery: (name, sql, params, signal) => herd.call('runQuery', { name, sql, params }, { signal }),
    runAnalysis: (name, use, options, { signal, progress }) =>
      herd.call(
        'runAnalysis',
        { name, use, options },
        { signal, progress: ({ fraction, stage }) => progress(fraction, stage) },
      ),
    dropEntry: (name) => herd.call('dropEntry', name),
  };
}
