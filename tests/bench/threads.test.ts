import { expect, test } from 'vitest';
import { busyThreads, type TraceEvent } from './threads.ts';

const at = (tid: number) => ({ pid: 1, tid, ts: 0 });
const named = (tid: number, name: string): TraceEvent => ({
  ...at(tid),
  name: 'thread_name',
  args: { name },
});

/** Samples at these milliseconds: each holds until the next. */
function sampled(tid: number, samples: readonly (readonly [ms: number, what: 'rest' | 'js' | 'wasm'])[]) {
  const kinds = ['rest', 'js', 'wasm'];
  const nodes = [
    { id: 0, callFrame: { functionName: '(idle)' } },
    { id: 1, callFrame: { functionName: 'fit', url: 'herd-desks.js' } },
    { id: 2, callFrame: { functionName: 'wasm-function[7]', url: 'wasm://wasm/1' } },
  ];
  const times = samples.map(([ms]) => ms * 1000);
  const data = {
    timeDeltas: times.map((time, i) => time - (times[i - 1] ?? 0)),
    cpuProfile: { nodes, samples: samples.map(([, what]) => kinds.indexOf(what)) },
  };
  return [
    { ...at(tid), id: `p${tid}`, name: 'Profile', args: { data: { startTime: 0 } } },
    { ...at(tid), id: `p${tid}`, name: 'ProfileChunk', args: { data } },
  ];
}

test('threads are told apart by name and by what they ran, and counted by the millisecond', () => {
  const events = [
    named(1, 'CrRendererMain'),
    named(2, 'DedicatedWorker thread'),
    named(3, 'DedicatedWorker thread'),
    named(4, 'DedicatedWorker thread'),
    ...sampled(1, [
      [0, 'rest'],
      [8, 'js'],
      [20, 'rest'],
    ]),
    ...sampled(2, [
      [0, 'js'],
      [10, 'rest'],
      [20, 'rest'],
    ]),
    ...sampled(3, [
      [0, 'rest'],
      [4, 'wasm'],
      [12, 'rest'],
      [20, 'rest'],
    ]),
    ...sampled(4, [
      [0, 'rest'],
      [7, 'js'],
      [11, 'rest'],
      [20, 'rest'],
    ]),
  ];
  // The engine from 4 to 12, estimators from 0 to 10 and from 7 to 11, the page from 8 to 20: alone from 12 on.
  expect(busyThreads(events)).toEqual({ engine: 8, estimators: 11, twoEstimators: 3, both: 7, drawing: 8 });
});
