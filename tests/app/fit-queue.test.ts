import { describe, expect, it } from 'vitest';
import type { Task } from '../../src/app/analyst.ts';
import { fitQueue } from '../../src/app/fit-queue.ts';

const task = (input: number): Task => ({ job: 'turnbull limit', input });
const context = (signal = new AbortController().signal) => ({ signal, progress: () => undefined });

/** A thread whose fits end when they are told to, in the order in which they came. */
function thread() {
  const began: unknown[] = [];
  const ends: (() => void)[] = [];
  return {
    began,
    work: ({ input }: Task) =>
      new Promise<unknown>((resolve) => {
        began.push(input);
        ends.push(() => resolve(input));
      }),
    end: () => ends.shift()?.(),
  };
}
const afterBreath = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 5));

describe('fits for two threads', () => {
  it('gives the first to the other thread, and one more before this one takes one up', async () => {
    const [here, there] = [thread(), thread()];
    const work = fitQueue(here.work, there.work);
    const all = [1, 2, 3, 4].map((k) => work(task(k), context()));
    expect([here.began, there.began]).toEqual([[], [1]]);
    await afterBreath();
    expect([here.began, there.began]).toEqual([[2], [1, 3]]);
    here.end();
    await afterBreath();
    expect([here.began, there.began]).toEqual([
      [2, 4],
      [1, 3],
    ]);
    for (const { end } of [here, there, there]) end();
    expect(await Promise.all(all)).toEqual([1, 2, 3, 4]);
  });

  it('goes on after one that failed, and begins none that is no longer wanted', async () => {
    const stop = new AbortController();
    const here = thread();
    const failing = (): Promise<never> => Promise.reject(new RangeError('weeks must'));
    const work = fitQueue(here.work, failing);
    const first = work(task(1), context());
    const second = work(task(2), context(stop.signal));
    const third = work(task(3), context(stop.signal));
    stop.abort();
    await expect(first).rejects.toThrow('weeks must');
    await expect(second).rejects.toThrow(/abort/i);
    await expect(third).rejects.toThrow(/abort/i);
    expect(here.began).toEqual([]);
  });
});
