import type { Signal } from '@preact/signals';
import type { Busy } from './app-state.ts';
import type { WorkOptions } from './open-records.ts';

/** The part of a piece of work that is not given up half way; rejects where a newer piece has begun before it. */
type Unbroken = <T>(job: () => Promise<T>) => Promise<T>;

export interface OneWork {
  /** One piece at a time: a newer one takes the place of an older. Null where it failed or was given up. */
  run<T>(stage: string, job: (options: WorkOptions, unbroken: Unbroken) => Promise<T>): Promise<T | null>;
  /** As the unbroken part of a piece, of what follows on one that has ended. */
  readonly hold: Unbroken;
  /** Whether a piece is under way: after one that ended with null, whether a newer one took its place. */
  isUnderWay(): boolean;
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
  /** What a newer piece waits for. */
  let unbroken: Promise<unknown> = Promise.resolve();
  const hold: Unbroken = (job) => {
    const done = job();
    unbroken = done.catch(() => undefined);
    return done;
  };
  const work: OneWork = {
    hold,
    goesOn: false,
    isUnderWay: () => current !== null,
    async run(stage, job) {
      current?.abort();
      const controller = new AbortController();
      current = controller;
      const cancel = (): void => controller.abort(new DOMException('cancelled', 'AbortError'));
      busy.value = { fraction: 0, stage, cancel };
      trouble.value = null;
      try {
        await Promise.all([started(), unbroken]);
        return await job(
          {
            signal: controller.signal,
            progress: (told) => {
              if (current === controller) busy.value = { ...told, cancel };
            },
          },
          async (part) => {
            if (current !== controller) throw controller.signal.reason;
            return hold(part);
          },
        );
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
