import { describe, expect, it } from 'vitest';
import type { Task } from '../../src/analyses/apart.ts';
import { fitQueue } from '../../src/app/fit-queue.ts';

const task = (input: number | string, job: Task['job'] = 'change scan'): Task => ({ job, input });
const context = (signal = new AbortController().signal) => ({ signal, progress: () => undefined });

/** A thread whose fits end when they are told to, in the order in which they came. It listens at once, or when it is told to. */
function thread(listening: Promise<unknown> = Promise.resolve()) {
  const began: unknown[] = [];
  const ends: (() => void)[] = [];
  return {
    began,
    listens: () => listening,
    work: ({ input }: Task) =>
      new Promise<unknown>((resolve) => {
        began.push(input);
        ends.push(() => resolve(input));
      }),
    end: () => ends.shift()?.(),
  };
}
type Thread = ReturnType<typeof thread>;
const queueOf = (threads: readonly Thread[], here = thread()) =>
  fitQueue(
    () => threads,
    (each, given) => (each ?? here).work(given),
    (each) => each.listens(),
  );
/** Turns of the loop and no time: a busy machine may let any pass before the first. */
async function afterBreath(): Promise<void> {
  for (let turn = 0; turn < 3; turn += 1) await new Promise((resolve) => setImmediate(resolve));
}

describe('fits for two threads', () => {
  it('go to the one that is free', async () => {
    const [one, two] = [thread(), thread()];
    const makeFit = queueOf([one, two]);
    const all = [1, 2, 3, 4].map((k) => makeFit(task(k), context()));
    await afterBreath();
    expect([one.began, two.began]).toEqual([[1], [2]]);
    two.end();
    await afterBreath();
    two.end();
    await afterBreath();
    expect([one.began, two.began]).toEqual([[1], [2, 3, 4]]);
    for (const each of [one, two]) each.end();
    expect(await Promise.all(all)).toEqual([1, 2, 3, 4]);
  });

  it('do not lie with a thread that is in the middle of something else', async () => {
    let listen = (): void => undefined;
    const busy = thread(
      new Promise<void>((resolve) => {
        listen = resolve;
      }),
    );
    const free = thread();
    const makeFit = queueOf([busy, free]);
    const all = [1, 2, 3].map((k) => makeFit(task(k), context()));
    await afterBreath();
    expect([busy.began, free.began]).toEqual([[], [1]]);
    free.end();
    await afterBreath();
    expect([busy.began, free.began]).toEqual([[], [1, 2]]);
    listen();
    await afterBreath();
    expect([busy.began, free.began]).toEqual([[3], [1, 2]]);
    for (const each of [busy, free]) each.end();
    expect(await Promise.all(all)).toEqual([1, 2, 3]);
  });

  it('lie ready with a thread at work where many wait', async () => {
    const [one, two] = [thread(), thread()];
    const makeFit = queueOf([one, two]);
    for (let k = 1; k <= 9; k += 1) void makeFit(task(k), context());
    await afterBreath();
    expect([one.began.length, two.began.length]).toEqual([2, 2]);
  });

  it('come before those that bands are made of, which keep their order', async () => {
    const one = thread();
    const makeFit = queueOf([one]);
    void makeFit(task('a', 'turnbull replicates'), context());
    await afterBreath();
    void makeFit(task('b', 'turnbull replicates'), context());
    void makeFit(task('c', 'turnbull limit'), context());
    void makeFit(task('d'), context());
    for (let k = 0; k < 4; k += 1) {
      one.end();
      await afterBreath();
    }
    expect(one.began).toEqual(['a', 'd', 'b', 'c']);
  });

  it('are made here where there is no other', async () => {
    const here = thread();
    const makeFit = queueOf([], here);
    const both = [makeFit(task(1), context()), makeFit(task(2), context())];
    await afterBreath();
    expect(here.began).toEqual([1]);
    here.end();
    await afterBreath();
    here.end();
    expect(await Promise.all(both)).toEqual([1, 2]);
  });

  it('go on after one that failed, and none that is no longer wanted is begun', async () => {
    const stop = new AbortController();
    const began: unknown[] = [];
    const makeFit = fitQueue(
      () => [1],
      async (_, { input }) => {
        began.push(input);
        throw new RangeError('weeks must');
      },
      async () => null,
    );
    const first = makeFit(task(1), context());
    const second = makeFit(task(2), context(stop.signal));
    const third = makeFit(task(3), context());
    stop.abort();
    await expect(first).rejects.toThrow('weeks must');
    await expect(second).rejects.toThrow(/abort/i);
    await expect(third).rejects.toThrow('weeks must');
    expect(began).toEqual([1, 3]);
  });
});
