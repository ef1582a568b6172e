import { describe, expect, it } from 'vitest';
import { makeTurns } from '../../src/app/turns.ts';

const nothing = async () => undefined;

describe('makeTurns', () => {
  it('lets jobs of one kind run together and never jobs of two', async () => {
    const turns = makeTurns();
    const running = new Map<string, number>();
    const seen: string[] = [];
    const job = (kind: string) => async () => {
      running.set(kind, (running.get(kind) ?? 0) + 1);
      seen.push(
        [...running]
          .filter(([, n]) => n > 0)
          .map(([name, n]) => `${name}${n}`)
          .join('+'),
      );
      await new Promise((done) => setTimeout(done, 5));
      running.set(kind, running.get(kind)! - 1);
    };
    await Promise.all(['a', 'a', 'b', 'b', 'a'].map((kind) => turns.take(kind, nothing, job(kind))));
    expect(seen).toEqual(['a1', 'a2', 'b1', 'b2', 'a1']);
  });

  it('enters once a turn, and again after another kind', async () => {
    const turns = makeTurns();
    const entered: string[] = [];
    const take = (kind: string) => turns.take(kind, async () => void entered.push(kind), nothing);
    await Promise.all([take('a'), take('a'), take('b'), take('a')]);
    expect(entered).toEqual(['a', 'b', 'a']);
  });

  it('fails the jobs of a turn that could not be entered, and goes on', async () => {
    const turns = makeTurns();
    const bad = turns.take(
      'a',
      () => Promise.reject(new Error('no')),
      async () => 1,
    );
    const good = turns.take('b', nothing, async () => 2);
    await expect(bad).rejects.toThrow('no');
    expect(await good).toBe(2);
  });

  it('goes on after a job that fails', async () => {
    const turns = makeTurns();
    await expect(turns.take('a', nothing, () => Promise.reject(new Error('no')))).rejects.toThrow('no');
    expect(await turns.take('a', nothing, async () => 3)).toBe(3);
  });
});
