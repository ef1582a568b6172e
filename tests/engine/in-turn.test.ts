import { expect, test } from 'vitest';
import { makeLine } from '../../src/engine/in-turn.ts';

/** Jobs that say when they begin, and end when they are told to. */
function jobs() {
  const begun: string[] = [];
  const ends = new Map<string, { resolve(): void; reject(error: Error): void }>();
  const job = (name: string) => () => {
    begun.push(name);
    return new Promise<string>((resolve, reject) => ends.set(name, { resolve: () => resolve(name), reject }));
  };
  const settle = () => new Promise((resolve) => setImmediate(resolve));
  return { begun, job, ends, settle };
}

test('jobs of one kind run together up to the limit, in the order in which they came', async () => {
  const { begun, job, ends, settle } = jobs();
  const { together } = makeLine(2);
  const all = ['a', 'b', 'c'].map((name) => together(job(name)));
  expect(begun).toEqual(['a', 'b']);
  ends.get('b')!.resolve();
  await settle();
  expect(begun).toEqual(['a', 'b', 'c']);
  ends.get('a')!.resolve();
  ends.get('c')!.resolve();
  expect(await Promise.all(all)).toEqual(['a', 'b', 'c']);
});

test('a job that must be alone waits for those before it, and those after it wait for its end', async () => {
  const { begun, job, ends, settle } = jobs();
  const { together, alone } = makeLine(2);
  const first = together(job('a'));
  const second = alone(job('b'));
  const third = together(job('c'));
  expect(begun).toEqual(['a']);
  ends.get('a')!.resolve();
  await first;
  await settle();
  expect(begun).toEqual(['a', 'b']);
  ends.get('b')!.resolve();
  await second;
  await settle();
  expect(begun).toEqual(['a', 'b', 'c']);
  ends.get('c')!.resolve();
  expect(await third).toBe('c');
});

test('one that fails fails alone', async () => {
  const { job, ends, settle } = jobs();
  const { together } = makeLine(1);
  const first = together(job('a'));
  const second = together(job('b'));
  ends.get('a')!.reject(new Error('no such table'));
  await expect(first).rejects.toThrow('no such table');
  await settle();
  ends.get('b')!.resolve();
  expect(await second).toBe('b');
});
