/** Calls over a message port: typed methods, progress on the way, cancelled by an AbortSignal. */
export interface Stage {
  readonly fraction: number;
  readonly stage: string;
}

interface CallOptions {
  readonly signal?: AbortSignal;
  readonly progress?: (stage: Stage) => void;
  /** Told what is handed over before the answer. */
  readonly part?: ((part: unknown) => void) | undefined;
  readonly transfer?: Transferable[];
}

export interface CallContext {
  readonly signal: AbortSignal;
  progress(fraction: number, stage: string): void;
  /** Hands something over before the answer; left out where nobody takes it. */
  readonly part?: ((part: unknown) => void) | undefined;
}

/** A service as its caller sees it: one argument, one promised value. */
// biome-ignore lint/suspicious/noExplicitAny: the constraint only says "a function of one argument"
type Methods = { readonly [name: string]: (input: any, context: CallContext) => Promise<unknown> };

type Input<M> = M extends (input: infer I, context: CallContext) => Promise<unknown> ? I : never;
type Output<M> = M extends (input: never, context: CallContext) => Promise<infer O> ? O : never;

export interface Caller<S extends Methods> {
  call<N extends keyof S & string>(name: N, input: Input<S[N]>, options?: CallOptions): Promise<Output<S[N]>>;
}

/** A caller whose other end may be gone. */
interface Connection<S extends Methods> extends Caller<S> {
  /** Nothing will be answered any more: every call that waits, and every later one, rejects with this. */
  fail(error: Error): void;
}

type ToWorker =
  | { readonly id: number; readonly name: string; readonly input: unknown }
  | { readonly id: number; readonly cancel: true };
type FromWorker =
  | { readonly id: number; readonly progress: Stage }
  | { readonly id: number; readonly part: unknown }
  | { readonly id: number; readonly value: unknown }
  | { readonly id: number; readonly error: { readonly name: string; readonly message: string } };

interface Port {
  postMessage(message: unknown, transfer?: Transferable[]): void;
  addEventListener(type: 'message', listener: (event: MessageEvent) => void): void;
}

/** Progress is for people: told more often than this, it costs the page more than it is worth. */
const BETWEEN_STAGES_MS = 50;

/** Every stage is told when it begins, and how far it is now and then. */
function nowAndThen(tell: CallContext['progress']): CallContext['progress'] {
  let told = { at: Number.NEGATIVE_INFINITY, stage: '' };
  return (fraction, stage) => {
    const at = performance.now();
    if (stage === told.stage && at - told.at < BETWEEN_STAGES_MS) return;
    told = { at, stage };
    tell(fraction, stage);
  };
}

/** Answers calls that arrive on a port. */
export function serve<S extends Methods>(port: Port, methods: S): void {
  const running = new Map<number, AbortController>();
  port.addEventListener('message', (event) => {
    const message = event.data as ToWorker;
    if ('cancel' in message) {
      running.get(message.id)?.abort(new DOMException('cancelled', 'AbortError'));
      return;
    }
    const { id, name, input } = message;
    const controller = new AbortController();
    running.set(id, controller);
    const context: CallContext = {
      signal: controller.signal,
      progress: nowAndThen((fraction, stage) =>
        port.postMessage({ id, progress: { fraction, stage } } satisfies FromWorker),
      ),
      part: (part) => port.postMessage({ id, part } satisfies FromWorker),
    };
    const method = methods[name];
    const result = method ? method(input, context) : Promise.reject(new Error(`no such method: ${name}`));
    result
      .then((value) => port.postMessage({ id, value } satisfies FromWorker))
      // Of an answer that cannot be sent as well: who asked must not wait for ever.
      .catch((error: unknown) => {
        const { name: kind, message: text } = error instanceof Error ? error : new Error(String(error));
        port.postMessage({ id, error: { name: kind, message: text } } satisfies FromWorker);
      })
      .finally(() => running.delete(id));
  });
}

/** The caller's side of `serve`. */
export function connect<S extends Methods>(port: Port): Connection<S> {
  let lastId = 0;
  let failed: Error | null = null;
  const waiting = new Map<
    number,
    {
      resolve(value: unknown): void;
      reject(error: Error): void;
      progress?: ((stage: Stage) => void) | undefined;
      part?: ((part: unknown) => void) | undefined;
    }
  >();
  port.addEventListener('message', (event) => {
    const message = event.data as FromWorker;
    const call = waiting.get(message.id);
    if (!call) return;
    if ('progress' in message) {
      call.progress?.(message.progress);
      return;
    }
    if ('part' in message) {
      call.part?.(message.part);
      return;
    }
    waiting.delete(message.id);
    if ('value' in message) call.resolve(message.value);
    else call.reject(Object.assign(new Error(message.error.message), { name: message.error.name }));
  });
  return {
    fail(error) {
      failed = error;
      for (const call of waiting.values()) call.reject(error);
      waiting.clear();
    },
    call(name, input, options = {}) {
      const id = ++lastId;
      return new Promise((resolve, reject) => {
        if (failed) {
          reject(failed);
          return;
        }
        if (options.signal?.aborted) {
          reject(options.signal.reason as Error);
          return;
        }
        const { signal, progress, part } = options;
        const stop = (): void => port.postMessage({ id, cancel: true });
        const settled = (): void => signal?.removeEventListener('abort', stop);
        waiting.set(id, {
          resolve(value) {
            settled();
            resolve(value as never);
          },
          reject(error) {
            settled();
            reject(error);
          },
          progress,
          part,
        });
        signal?.addEventListener('abort', stop, { once: true });
        port.postMessage({ id, name, input }, options.transfer ?? []);
      });
    },
  };
}
