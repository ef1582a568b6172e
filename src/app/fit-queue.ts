import { OF_BANDS, type Task } from '../analyses/apart.ts';
import { breathe } from '../core/pacing.ts';
import type { CallContext } from './rpc.ts';

interface Waiting {
  readonly task: Task;
  readonly context: CallContext;
  resolve(value: unknown): void;
  reject(error: unknown): void;
}

/** From so many waiting on, a thread is told of a second fit while it is at one: it need not wait for the next. */
const MANY_WAITING = 4;

/**
 * Fits in the order in which they were asked for, those that bands are made of after all others, each done by the thread that
 * is free first; `null` stands for this one, where there is no other.
 */
export function fitQueue<Thread>(
  threads: () => readonly Thread[],
  work: (thread: Thread | null, task: Task, context: CallContext) => Promise<unknown>,
): (task: Task, context: CallContext) => Promise<unknown> {
  const waiting: Waiting[] = [];
  const atWork = new Map<Thread | null, number>();
  const count = (thread: Thread | null): number => atWork.get(thread) ?? 0;

  async function run(thread: Thread | null, { task, context, resolve, reject }: Waiting): Promise<void> {
    atWork.set(thread, count(thread) + 1);
    try {
      // What else this thread has to do comes in between.
      if (thread === null) await breathe(context.signal);
      context.signal.throwIfAborted();
      resolve(await work(thread, task, context));
    } catch (error) {
      reject(error);
    }
    atWork.set(thread, count(thread) - 1);
    handOut();
  }
  function freest(): Thread | null | undefined {
    const there = threads();
    const all: readonly (Thread | null)[] = there.length > 0 ? there : [null];
    const least = all.reduce((a, b) => (count(b) < count(a) ? b : a));
    return count(least) < (least !== null && waiting.length > MANY_WAITING ? 2 : 1) ? least : undefined;
  }
  function handOut(): void {
    while (waiting.length > 0) {
      const thread = freest();
      if (thread === undefined) return;
      const urgent = waiting.findIndex(({ task }) => !OF_BANDS.has(task.job));
      void run(thread, waiting.splice(Math.max(0, urgent), 1)[0]!);
    }
  }
  return (task, context) =>
    new Promise((resolve, reject) => {
      waiting.push({ task, context, resolve, reject });
      handOut();
    });
}
