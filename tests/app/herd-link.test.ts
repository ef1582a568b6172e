import { MessageChannel, type MessagePort } from 'node:worker_threads';
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { type Begun, type Health, linkHerd } from '../../src/app/herd-link.ts';
import { type CallContext, serve } from '../../src/app/rpc.ts';
import { EngineLost, hasBrokenEngine, isEngineLost } from '../../src/core/engine-lost.ts';

// A machine with much to do lets more time pass between two messages than may pass in silence.
beforeEach(() => {
  vi.useFakeTimers({ toFake: ['setTimeout', 'clearTimeout'] });
});
const SILENCE_MS = 20;

const ports: MessagePort[] = [];
afterEach(() => {
  vi.useRealTimers();
  for (const port of ports.splice(0)) port.close();
});

/** Workers one after the other; each answers `countRows` with its number, or as `answer` says. */
function link(answer: (context: CallContext) => Promise<unknown> = async () => null) {
  const told: Health[] = [];
  let begun = 0;
  const begin = (): Begun => {
    const number = ++begun;
    const { port1, port2 } = new MessageChannel();
    ports.push(port1, port2);
    serve(port2 as unknown as Worker, {
      countRows: async (_: unknown, context: CallContext) => (await answer(context)) ?? number,
    });
    const worker = Object.assign(port1, { terminate: () => port1.close() });
    return { worker: worker as unknown as Begun['worker'], lifeline: 'none' };
  };
  const herd = linkHerd(begin, SILENCE_MS);
  herd.onHealth((health) => told.push(health));
  const ask = (signal?: AbortSignal) =>
    herd.call('countRows', { relation: 'spell', where: 'TRUE', title: '' }, signal ? { signal } : {});
  return { herd, told, ask };
}

test('an answer that the engine is lost is told once, and another worker takes its place', async () => {
  let lost = true;
  const { herd, told, ask } = link(async () => {
    if (lost) throw new EngineLost();
    return null;
  });
  const both = [ask(), ask()];
  for (const one of both) await expect(one).rejects.toSatisfy(isEngineLost);
  await expect(ask()).rejects.toSatisfy(isEngineLost);
  expect(told).toEqual(['lost']);
  lost = false;
  herd.renew();
  expect(await ask()).toBe(2);
  expect(told).toEqual(['lost', 'well']);
});

test('of several calls only the one that broke the engine is told that it did', async () => {
  const { ask } = link(async () => {
    throw new EngineLost('unreachable');
  });
  const [breaks, waits] = [ask(), ask()];
  await expect(breaks).rejects.toSatisfy(hasBrokenEngine);
  await expect(waits).rejects.not.toSatisfy(hasBrokenEngine);
});

test('what waits for an answer is told when its worker is put away', async () => {
  const { herd, ask } = link(() => new Promise(() => undefined));
  const waiting = ask();
  herd.renew();
  await expect(waiting).rejects.toSatisfy(isEngineLost);
});

test('a call that goes on after it was stopped is silence, until it ends', async () => {
  let begun = (_finish: () => void): void => undefined;
  const finishing = new Promise<() => void>((resolve) => {
    begun = resolve;
  });
  const { told, ask } = link(() => new Promise((resolve) => begun(() => resolve(null))));
  const controller = new AbortController();
  const deaf = ask(controller.signal);
  const finish = await finishing;
  controller.abort();
  vi.advanceTimersByTime(SILENCE_MS - 1);
  expect(told).toEqual([]);
  vi.advanceTimersByTime(1);
  expect(told).toEqual(['silent']);
  finish();
  await deaf;
  expect(told).toEqual(['silent', 'well']);
});

test('a call that heeds its stop is no silence', async () => {
  const { told, ask } = link(
    ({ signal }) =>
      new Promise((_, reject) => {
        signal.addEventListener('abort', () => reject(new Error('stopped')));
      }),
  );
  const controller = new AbortController();
  const call = ask(controller.signal);
  controller.abort();
  await expect(call).rejects.toThrow('stopped');
  vi.advanceTimersByTime(2 * SILENCE_MS);
  expect(told).toEqual([]);
});
