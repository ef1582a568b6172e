import { describe, expect, it } from 'vitest';
import { makeMemory } from '../../src/analyses/memory.ts';
import { roughBytes } from '../../src/analyses/rough-bytes.ts';

/** Counts how often it is asked to make something. */
function maker<T>(value: T): { make: () => Promise<T>; times: () => number } {
  let times = 0;
  return {
    make: async () => {
      times += 1;
      return value;
    },
    times: () => times,
  };
}

/** What a thing took, ms: measured, it would differ from machine to machine, and what is let go of with it. */
const AT_ONCE = 0;

describe('the memory of fits', () => {
  it('makes a thing once for all who ask for it over one cohort, also while it is being made', async () => {
    const { remember } = makeMemory().over('ponies');
    const { make, times } = maker('fit');
    const given = await Promise.all([remember('growth', make), remember('growth', make)]);
    expect([...given, await remember('growth', make)]).toEqual(['fit', 'fit', 'fit']);
    expect(times()).toBe(1);
  });

  it('keeps cohorts and questions apart', async () => {
    const memory = makeMemory();
    await memory.over('ponies').remember('growth', async () => 1);
    expect(await memory.over('drafts').remember('growth', async () => 2)).toBe(2);
    expect(await memory.over('ponies').remember('wear', async () => 3)).toBe(3);
    expect(await memory.over('ponies').remember('growth', async () => 4)).toBe(1);
  });

  it('tells nothing after a change that was begun before its end', async () => {
    const memory = makeMemory();
    const before = memory.over('ponies');
    await before.remember('growth', async () => 'old');
    await memory.during(async () => {
      // The rows may be half changed here.
      await memory.over('ponies').remember('growth', async () => 'half');
      await before.remember('growth', async () => 'older');
    });
    expect(memory.over('ponies').ready('growth')).toBeUndefined();
    expect(await memory.over('ponies').remember('growth', async () => 'new')).toBe('new');
    expect(await before.remember('growth', async () => 'late')).toBe('late');
    expect(await memory.over('ponies').remember('growth', async () => 'other')).toBe('new');
  });

  it('does not keep what was still being made when the rows changed', async () => {
    const memory = makeMemory();
    let finish = (_: string): void => undefined;
    const slow = memory
      .over('ponies')
      .remember('growth', () => new Promise<string>((done) => (finish = done)));
    await memory.during(async () => undefined);
    finish('old');
    expect(await slow).toBe('old');
    expect(await memory.over('ponies').remember('growth', async () => 'new')).toBe('new');
  });

  it('forgets after a change that failed too', async () => {
    const memory = makeMemory();
    await memory.over('ponies').remember('growth', async () => 1);
    await expect(memory.during(() => Promise.reject(new Error('no')))).rejects.toThrow('no');
    expect(await memory.over('ponies').remember('growth', async () => 2)).toBe(2);
  });

  it('lets nobody fail because whoever began was stopped', async () => {
    const { remember } = makeMemory().over('ponies');
    let stop = (_: Error): void => undefined;
    const first = remember('growth', () => new Promise<string>((_, fail) => (stop = fail)));
    const second = remember('growth', async () => 'mine');
    stop(new Error('cancelled'));
    await expect(first).rejects.toThrow('cancelled');
    expect(await second).toBe('mine');
  });

  it('lets go of nothing of the whole herd because of fits of cohorts', async () => {
    const memory = makeMemory(2000, 1000);
    const hundred = async (): Promise<Float64Array> => new Float64Array(100);
    await memory.over('').remember('column', hundred, AT_ONCE);
    for (const cohort of ['ponies', 'drafts', 'donkeys'])
      await memory.over(cohort).remember('fit', hundred, AT_ONCE);
    expect(memory.over('').ready('column')).toBeDefined();
    expect(memory.over('ponies').ready('fit')).toBeUndefined();
    await memory.over('').remember('other column', hundred, AT_ONCE);
    expect(memory.over('').ready('column')).toBeUndefined();
    expect(memory.over('donkeys').ready('fit')).toBeDefined();
  });

  it('keeps less of a large herd, and by itself', async () => {
    const memory = makeMemory(5000, 5000, 1400);
    const hundred = async (): Promise<Float64Array> => new Float64Array(100);
    for (const key of ['a', 'b']) {
      await memory.over('ponies').remember(key, hundred, AT_ONCE);
      await memory.over('ponies', true).remember(key, hundred, AT_ONCE);
    }
    const held = (isLarge: boolean): string[] =>
      ['a', 'b'].filter((key) => memory.over('ponies', isLarge).ready(key) !== undefined);
    expect([held(false), held(true)]).toEqual([['a', 'b'], ['b']]);
    // A thing that would leave little room for others is not kept at all.
    await memory.over('ponies', true).remember('c', async () => new Float64Array(120), AT_ONCE);
    expect([memory.over('ponies', true).ready('c'), held(true)]).toEqual([undefined, ['b']]);
    await memory.during(async () => undefined);
    expect([held(false), held(true)]).toEqual([[], []]);
  });

  it('lets go of what was used longest ago when it holds too much', async () => {
    const { remember, ready } = makeMemory(2000).over('ponies');
    const hundred = async (): Promise<Float64Array> => new Float64Array(100);
    for (const key of ['a', 'b', 'c']) await remember(key, hundred, AT_ONCE);
    await remember('a', hundred, AT_ONCE);
    await remember('d', hundred, AT_ONCE);
    const held = ['a', 'b', 'c', 'd'].filter((key) => ready(key) !== undefined);
    expect(held).toEqual(['a', 'd']);
  });

  it('lets go of large things before small ones, and of small ones too once they are long unused', async () => {
    const { remember, ready } = makeMemory(2000).over('ponies');
    const numbers = (n: number) => async (): Promise<Float64Array> => new Float64Array(n);
    await remember('answer', numbers(10), AT_ONCE);
    await remember('fit', numbers(150), AT_ONCE);
    await remember('next fit', numbers(150), AT_ONCE);
    expect(['answer', 'fit', 'next fit'].map((key) => ready(key) !== undefined)).toEqual([true, false, true]);
    // 10 numbers weigh 96 bytes, 150 weigh 1216: a dozen of these later the answer's turn has come.
    for (let k = 0; k < 40; k++) await remember(`fit ${k}`, numbers(150), AT_ONCE);
    expect(ready('answer')).toBeUndefined();
    expect(ready('fit 39')).toBeDefined();
  });

  it('keeps what took long to make longer than what is as large and made at once', async () => {
    const { remember, ready } = makeMemory(4000).over('ponies');
    const numbers = (n: number) => async (): Promise<Float64Array> => new Float64Array(n);
    await remember('answer', numbers(200), 2_000);
    await remember('columns', numbers(100), 50);
    await remember('fit', numbers(250), AT_ONCE);
    expect(['answer', 'columns', 'fit'].map((key) => ready(key) !== undefined)).toEqual([true, false, true]);
  });

  it('keeps what is asked for again and again longer than what was asked for once', async () => {
    const { remember, ready } = makeMemory(2000).over('ponies');
    const hundred = async (): Promise<Float64Array> => new Float64Array(100);
    await remember('columns', hundred, AT_ONCE);
    for (let k = 0; k < 3; k += 1) await remember('columns', hundred, AT_ONCE);
    for (const key of ['fit', 'next fit', 'last fit']) await remember(key, hundred, AT_ONCE);
    expect(['columns', 'fit', 'last fit'].map((key) => ready(key) !== undefined)).toEqual([
      true,
      false,
      true,
    ]);
  });

  it('lets nothing go for what is larger than all it may hold', async () => {
    const { remember, ready } = makeMemory(2000).over('ponies');
    await remember('fit', async () => new Float64Array(100), AT_ONCE);
    await remember('herd', async () => new Float64Array(1000));
    expect(ready('herd')).toBeUndefined();
    expect(ready('fit')).toBeDefined();
  });
});

describe('rough bytes', () => {
  it('count typed arrays whole, what is shared once, lists by a sample', () => {
    const days = new Float64Array(1000);
    expect(roughBytes(days)).toBe(8016);
    expect(roughBytes({ days, again: days.subarray(2) })).toBeLessThan(8200);
    const texts = Array.from({ length: 100_000 }, () => 'abcd');
    expect(roughBytes(texts)).toBeGreaterThan(2_000_000);
    expect(roughBytes(texts)).toBeLessThan(6_000_000);
    expect(roughBytes(new Map([['a', days]]))).toBeGreaterThan(8000);
  });
});
