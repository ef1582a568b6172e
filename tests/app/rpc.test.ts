import { MessageChannel } from 'node:worker_threads';
import { afterEach, expect, test } from 'vitest';
import { type CallContext, connect, serve } from '../../src/app/rpc.ts';

const methods = {
  unsendable: async (_: null) => () => 'a function cannot be sent',
  double: async (n: number) => n * 2,
  fail: async (what: string) => {
    throw new RangeError(`no ${what}`);
  },
  wait: (_: null, { signal, progress }: CallContext) =>
    new Promise<string>((_resolve, reject) => {
      progress(0.5, 'half way');
      signal.addEventListener('abort', () => reject(signal.reason));
    }),
};

let close = (): void => undefined;
afterEach(() => close());

const pair = () => pairOf(methods);

function pairOf<M extends Parameters<typeof serve>[1]>(answering: M) {
  const { port1, port2 } = new MessageChannel();
  close = () => port1.close();
  serve(port2 as unknown as Worker, answering);
  port2.start();
  const caller = connect<M>(port1 as unknown as Worker);
  port1.start();
  return caller;
}

test('a call gives its value, several at once in any order', async () => {
  const caller = pair();
  expect(await Promise.all([caller.call('double', 2), caller.call('double', 21)])).toEqual([4, 42]);
});

test('a failure keeps its kind and its words', async () => {
  await expect(pair().call('fail', 'hay')).rejects.toMatchObject({ name: 'RangeError', message: 'no hay' });
});

test('an answer that cannot be sent is told as a failure', async () => {
  await expect(pair().call('unsendable', null)).rejects.toThrow('could not be cloned');
});

test('progress is told and an abort reaches the method', async () => {
  const caller = pair();
  const controller = new AbortController();
  const stages: string[] = [];
  const waiting = caller.call('wait', null, {
    signal: controller.signal,
    progress: ({ stage }) => {
      stages.push(stage);
      controller.abort();
    },
  });
  await expect(waiting).rejects.toMatchObject({ name: 'AbortError' });
  expect(stages).toEqual(['half way']);
});

test('hands over parts before the answer, in order, to whoever asked for them', async () => {
  const caller = pairOf({
    run: async (_: null, { part }: CallContext) => {
      part?.({ curve: [0, 1] });
      part?.('more');
      return 'done';
    },
  });
  const told: unknown[] = [];
  expect(await caller.call('run', null, { part: (part) => told.push(part) })).toBe('done');
  expect(told).toEqual([{ curve: [0, 1] }, 'more']);
  expect(await caller.call('run', null)).toBe('done');
});

test('tells each stage when it begins, and not every step of it', async () => {
  const caller = pairOf({
    run: async (_: null, { progress }: CallContext) => {
      for (const stage of ['reading', 'fitting']) for (let k = 0; k < 500; k++) progress(k / 500, stage);
      return 'done';
    },
  });
  const told: string[] = [];
  await caller.call('run', null, { progress: ({ stage }) => told.push(stage) });
  expect(new Set(told)).toEqual(new Set(['reading', 'fitting']));
  expect(told.length).toBeLessThan(500);
});
