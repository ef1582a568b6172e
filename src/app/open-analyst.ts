import type { AnalysisDraft } from '../analyses/analysis.ts';
import { holdLifeline, lifelineEnd, lifelineName } from '../core/lifeline.ts';
import type { Engine } from '../engine/engine.ts';
import type { Analyst } from './analyst.ts';
import { asAnswered } from './answer-sent.ts';
import { type LentMethods, lentMethods } from './lent-engine.ts';
import { connect, serve } from './rpc.ts';
import { AnalystGone } from './threads.ts';

/** A thread that runs `script`, the herd's own, which is asked to be an analyst. */
export type AnalystMethods = {
  /** Told once, before anything else: where the engine answers. */
  readonly beAnalyst: (port: MessagePort) => Promise<null>;
  readonly answer: Analyst['answer'];
  readonly work: Analyst['work'];
  readonly listens: (input: null) => Promise<null>;
};

/**
 * Starts another thread for estimators. It is made from a blob, so that it keeps the content-security policy of this
 * one; it ends with this one. `fit` has a fit made by whichever thread is free.
 */
export function openAnalyst(script: string, engine: Engine, fit: LentMethods['fit']): Analyst {
  const lifeline = lifelineName('analyst');
  const source = `import ${JSON.stringify(script)};\n${holdLifeline(lifeline)}`;
  const address = URL.createObjectURL(new Blob([source], { type: 'text/javascript' }));
  const worker = new Worker(address, { type: 'module' });
  const caller = connect<AnalystMethods>(worker);
  const fail = (why: string): void => {
    caller.fail(new AnalystGone(why));
    worker.terminate();
  };
  worker.addEventListener('error', (event) => {
    event.preventDefault();
    fail(event.message);
  });
  void lifelineEnd(lifeline).then(() => fail('the thread has ended'));
  const { port1, port2 } = new MessageChannel();
  serve<LentMethods>(port1, lentMethods(engine, fit));
  port1.start();
  const ready = caller.call('beAnalyst', port2, { transfer: [port2] });
  ready.catch(() => undefined);
  void ready.finally(() => URL.revokeObjectURL(address)).catch(() => undefined);
  return {
    async listens() {
      await ready;
      return caller.call('listens', null);
    },
    async work(task, { signal }) {
      await ready;
      return caller.call('work', task, { signal });
    },
    async answer(question, { signal, progress, part }) {
      await ready;
      const sent = await caller.call('answer', question, {
        signal,
        progress: ({ fraction, stage }) => progress(fraction, stage),
        part: part && ((draft) => part(asAnswered(draft as AnalysisDraft))),
      });
      return asAnswered(sent);
    },
  };
}
