import { breathe } from '../core/pacing.ts';
import type { Task } from './analyst.ts';
import type { CallContext } from './rpc.ts';

type Work = (task: Task, context: CallContext) => Promise<unknown>;

interface Waiting {
  readonly task: Task;
  readonly context: CallContext;
  resolve(value: unknown): void;
  reject(error: unknown): void;
}

/**
 * Fits in the order in which they were asked for, each done by the thread that is free first. `there` is told of one while
 * this thread is at something, and of a second before this one begins a fit itself: its answers wait until this thread
 * looks up, and it should have something to do until then.
 */
export function fitQueue(here: Work, there: Work): Work {
  const waiting: Waiting[] = [];
  let nThere = 0;
  let isHere = false;

  async function run(work: Work, { task, context, resolve, reject }: Waiting): Promise<void> {
    try {
      context.signal.throwIfAborted();
      resolve(await work(task, context));
    } catch (error) {
      reject(error);
    }
  }
  function send(most: number): void {
    while (nThere < most && waiting.length > 0) {
      nThere += 1;
      void run(there, waiting.shift()!).then(() => {
        nThere -= 1;
        handOut();
      });
    }
  }
  /** One after the other, until none is left: what else this thread has to do comes in between. */
  async function workHere(): Promise<void> {
    isHere = true;
    for (;;) {
      await breathe(undefined);
      const next = waiting.shift();
      if (!next) break;
      send(2);
      // What is sent leaves this thread only once it looks up.
      await breathe(undefined);
      await run(here, next);
    }
    isHere = false;
  }
  function handOut(): void {
    send(1);
    if (waiting.length > 0 && !isHere) void workHere();
  }
  return (task, context) =>
    new Promise((resolve, reject) => {
      waiting.push({ task, context, resolve, reject });
      handOut();
    });
}
