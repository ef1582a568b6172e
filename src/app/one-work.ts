import type { Signal } from '@preact/signals';
import type { Busy } from './app-state.ts';
import type { WorkOptions } from './open-records.ts';

export interface OneWork {
  /** One piece at a time: a newer one takes the place of an older. Null where it failed or was given up. */
  run<T>(stage: string, job: (options: WorkOptions) => Promise<T>): Promise<T | null>;
  /** More work follows: in between the screen must not look as if all were done. */
  goesOn: boolean;
}

/** `started`: the start of the worker that there is now; work waits for it. */
export function makeOneWork(
  busy: Signal<Busy | null>,
  trouble: Signal<string | null>,
  started: () => Promise<unknown>,
): OneWork {
  let current: AbortController | null = null;
  const work: OneWork = {
    goesOn: false,
    async run(stage, job) {
      current?.abort();
      const controller = new AbortController();
      current = controller;
      const cancel = (): void => controller.abort(new DOMException('cancelled', 'AbortError'));
      busy.value = { fraction: 0, stage, cancel };
      trouble.value = null;
      try {
        await started();
        return await job({
          signal: controller.signal,
          progress: (told) => {
            if (current === controller) busy.value = { ...told, cancel };
          },
        });
      } catch (error) {
        if (!controller.signal.aborted)
          trouble.value = error instanceof Error ? error.message : String(error);
        return null;
      } finally {
        if (current === controller) {
          if (!work.goesOn) busy.value = null;
          current = null;
        }
      }
    },
  };
  return work;
}
