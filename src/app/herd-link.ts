import { EngineLost, isEngineLost } from '../core/engine-lost.ts';
import { lifelineEnd } from '../core/lifeline.ts';
import type { HerdMethods } from './herd-service.ts';
import { type Caller, connect } from './rpc.ts';

/**
 * How the herd's worker does. `silent`: it has not answered to a stop for a while, and may yet. `lost`: it or its engine
 * has ended or broken, and every call fails until there is another one.
 */
export type Health = 'well' | 'silent' | 'lost';

/** The way to the herd's worker, whichever worker that is. */
export interface HerdLink extends Caller<HerdMethods> {
  onHealth(listener: (health: Health) => void): void;
  /** Ends the worker and its engine and begins another, which holds nothing yet and must be started. */
  renew(): void;
}

/** A worker just begun, and the name of the lock that it holds as long as it lives. */
export interface Begun {
  readonly worker: Pick<Worker, 'postMessage' | 'addEventListener' | 'terminate'>;
  readonly lifeline: string;
}

/** Long enough for a step that cannot be stopped half way, on a large herd, ms. */
const SILENCE_MS = 8_000;

export function linkHerd(begin: () => Begun, silenceMs: number = SILENCE_MS): HerdLink {
  const listeners = new Set<(health: Health) => void>();
  let health: Health = 'well';
  let unanswered = 0;
  const become = (next: Health): void => {
    if (next === health) return;
    health = next;
    for (const listener of listeners) listener(next);
  };

  function open() {
    const { worker, lifeline } = begin();
    const connection = connect<HerdMethods>(worker);
    const end = (): void => {
      worker.terminate();
      connection.fail(new EngineLost());
    };
    const lose = (error: Error): void => {
      if (current?.worker !== worker || health === 'lost') return;
      connection.fail(error);
      become('lost');
    };
    // An error inside of it is an answer of its own; only where its script does not come at all is there none.
    worker.addEventListener('error', (event) => {
      if (!('message' in event)) lose(new EngineLost('its script could not be fetched'));
    });
    void lifelineEnd(lifeline).then(() => lose(new EngineLost()));
    return { worker, connection, end, lose };
  }
  let current: ReturnType<typeof open> | null = null;
  current = open();
  const now = (): ReturnType<typeof open> => current as ReturnType<typeof open>;

  /** Tells of a call that goes on after it was stopped. */
  function heed(signal: AbortSignal | undefined, done: Promise<unknown>): void {
    if (!signal) return;
    let timer: ReturnType<typeof setTimeout> | null = null;
    let isSilent = false;
    const of = now();
    const stopped = (): void => {
      timer = setTimeout(() => {
        if (of !== current) return;
        isSilent = true;
        unanswered += 1;
        if (health === 'well') become('silent');
      }, silenceMs);
    };
    signal.addEventListener('abort', stopped, { once: true });
    const over = (): void => {
      signal.removeEventListener('abort', stopped);
      if (timer !== null) clearTimeout(timer);
      if (!isSilent || of !== current) return;
      unanswered -= 1;
      if (unanswered === 0 && health === 'silent') become('well');
    };
    done.then(over, over);
  }

  return {
    call(name, input, options = {}) {
      const { connection, lose } = now();
      const done = connection.call(name, input, options);
      heed(options.signal, done);
      done.catch((error: unknown) => {
        // Of what was broken only that call is told which broke it.
        if (isEngineLost(error)) lose(new EngineLost());
      });
      return done;
    },
    onHealth: (listener) => {
      listeners.add(listener);
    },
    renew() {
      const old = now();
      current = null;
      old.end();
      unanswered = 0;
      current = open();
      become('well');
    },
  };
}
