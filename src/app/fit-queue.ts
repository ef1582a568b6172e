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
 * is free first; `null` stands for this one, where there is no other. A thread is free when it says so: whoever asked for a
 * fit mostly goes on with something else, and one that was sent to it would lie there while another thread has nothing to do.
 */
export function fitQueue<Thread>(
  threads: () => readonly Thread[],
  work: (thread: Thread | null, task: Task, context: CallContext) => Promise<unknown>,
  listens: (thread: Thread) => Promise<unknown>,
): (task: Task, context: CallContext) => Promise<unknown> {
  const waiting: Waiting[] = [];
  const atWork = new Map<Thread | null, number>();
  const asked = new Set<Thread>();
  const count = (thread: Thread | null): number => atWork.get(thread) ?? 0;

  /** At no fit; one that has ended is given none. */
  const isFree = (thread: Thread | null): boolean =>
    count(thread) === 0 && (thread !== null ? threads().includes(thread) : threads().length === 0);

  /** Begins the next fit in a thread that is free. */
  async function begin(thread: Thread | null): Promise<void> {
    const urgent = waiting.findIndex(({ task }) => !OF_BANDS.has(task.job));
    const [next] = waiting.splice(Math.max(0, urgent), 1);
    if (!next) return;
    const { task, context, resolve, reject } = next;
    atWork.set(thread, count(thread) + 1);
    handOut();
    try {
      // What else this thread has to do comes in between.
      if (thread === null) await breathe(context.signal);
      context.signal.throwIfAborted();
      resolve(await work(thread, task, context));
    } catch (error) {
      reject(error);
    }
    atWork.set(thread, count(thread) - 1);
    // It has just answered.
    if (isFree(thread)) void begin(thread);
    handOut();
  }
  async function ask(thread: Thread): Promise<void> {
    asked.add(thread);
    // One that has ended says nothing: who gives it a fit is told.
    await listens(thread).catch(() => undefined);
    asked.delete(thread);
    if (isFree(thread)) void begin(thread);
  }
  function handOut(): void {
    const there = threads();
    if (isFree(null)) void begin(null);
    for (const thread of there) {
      if (waiting.length === 0) return;
      if (count(thread) === 0 && !asked.has(thread)) void ask(thread);
      else if (count(thread) === 1 && waiting.length > MANY_WAITING) void begin(thread);
    }
  }
  return (task, context) =>
    new Promise((resolve, reject) => {
      waiting.push({ task, context, resolve, reject });
      handOut();
    });
}
