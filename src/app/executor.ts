import type { ReadonlySignal } from '@preact/signals';
import type { AnalysisDraft } from '../analyses/analysis.ts';
import type { ShownLength } from '../analyses/lengths.ts';
import type { PageExecutor } from '../pages/page-executor.ts';
import { asAnswered } from './answer-sent.ts';
import type { HerdMethods } from './herd-service.ts';
import type { Caller } from './rpc.ts';
import type { PageColumn, Scene } from './scenes.ts';

/** Which cohort a page computes over: the shell's, or one of its own beside it. */
export interface PageSide {
  readonly side: Scene['side'];
  readonly where: string | null;
}

/** A page's way to the herd's worker, with the scene it computes in. */
export interface SceneExecutor extends PageExecutor {
  scene(): Scene;
}

/** Lets a page compute in the herd's worker. */
export function pageExecutor(
  herd: Caller<HerdMethods>,
  cohortVersion: ReadonlySignal<number>,
  { side, where }: PageSide = { side: 'left', where: null },
  lengths: ReadonlySignal<ShownLength> | null = null,
): SceneExecutor {
  let columns: readonly PageColumn[] = [];
  const scene = (): Scene => ({ side, where, version: cohortVersion.peek(), columns });
  const without = (name: string) => columns.filter((column) => column.name !== name);
  return {
    cohortVersion,
    ...(lengths ? { lengths } : {}),
    scene,
    runQuery: (name, sql, params, signal) =>
      herd.call('runQuery', { scene: scene(), name, sql, params }, { signal }),
    runAnalysis: async (name, use, options, { signal, progress, draft }) =>
      asAnswered(
        await herd.call(
          'runAnalysis',
          { scene: scene(), name, use, options, lengths: lengths?.peek() ?? 'mm' },
          {
            signal,
            progress: ({ fraction, stage }) => progress(fraction, stage),
            // The herd's worker hands over nothing else.
            part: draft && ((part) => draft(asAnswered(part as AnalysisDraft))),
          },
        ),
      ),
    async defineColumn(name, { on, expression }, signal) {
      // Put last anew: what it reads was defined before it, and what reads it is defined again after it.
      const wanted = { name, on, expression };
      columns = without(name);
      await herd.call('checkColumn', { ...scene(), columns: [...columns, wanted] }, { signal });
      signal.throwIfAborted();
      columns = [...without(name), wanted];
    },
    async dropEntry(name) {
      if (columns.some((column) => column.name === name)) columns = without(name);
      else await herd.call('dropEntry', { scene: scene(), name });
    },
  };
}
