import { holdLifeline, lifelineEnd, lifelineName } from '../core/lifeline.ts';

interface EngineFiles {
  /** Addresses on our own origin. */
  readonly wasm: string;
  readonly worker: string;
}

/** Handed on in larger pieces than they arrive in: the engine tells of a piece only if it took over 20 ms. */
const PIECE_BYTES = 1 << 20;

/**
 * Runs first in the engine's worker: it asks for the wasm at once, beside the engine's own script, which would ask for
 * it only after having arrived and run; and hands that answer over when the script asks. Written to run by its text
 * alone: it may name nothing outside of itself.
 */
export function askAhead(
  scope: { fetch: typeof fetch; reportError(error: unknown): void },
  wasm: string,
  pieceBytes: number,
): void {
  const plain = scope.fetch;
  const asked = plain.call(scope, wasm);
  // Reported, so that whoever started the worker hears of it: the engine's script would wait for ever.
  asked.then(
    (answer) => {
      if (!answer.ok)
        scope.reportError(
          new Error(`the engine could not be fetched (${answer.status}): load this page again`),
        );
    },
    (error) =>
      scope.reportError(new Error(`the engine could not be fetched (${error}): load this page again`)),
  );
  let held: Uint8Array[] = [];
  let bytes = 0;
  const pass = (control: TransformStreamDefaultController<Uint8Array>): void => {
    const piece = new Uint8Array(bytes);
    let at = 0;
    for (const part of held) {
      piece.set(part, at);
      at += part.length;
    }
    held = [];
    bytes = 0;
    control.enqueue(piece);
  };
  const gather = (): TransformStream<Uint8Array, Uint8Array> =>
    new TransformStream({
      transform(part, control) {
        held.push(part);
        bytes += part.length;
        if (bytes >= pieceBytes) pass(control);
      },
      flush(control) {
        if (bytes > 0) pass(control);
      },
    });
  scope.fetch = async (input, init) => {
    const address = input instanceof Request ? input.url : String(input);
    if (address !== wasm) return plain.call(scope, input, init);
    scope.fetch = plain;
    const answer = await asked;
    return answer.body ? new Response(answer.body.pipeThrough(gather()), answer) : answer;
  };
}

/** The engine's worker on its way. */
export interface EngineStart {
  readonly worker: Worker;
  readonly wasm: string;
  /** Resolves when the wasm has been asked for: what is fetched from then on does not go before it. */
  readonly asked: Promise<void>;
  /** Rejects where it does not arrive; never resolves. */
  readonly failed: Promise<never>;
  /** Resolves when the worker has ended, however it ended. */
  readonly ended: Promise<void>;
}

/**
 * Starts the engine's own worker, which fetches its script and its wasm side by side. A worker made from a blob
 * inherits this context's content-security policy; one loaded by URL does not.
 */
export function startEngine({ wasm, worker: script }: EngineFiles): EngineStart {
  const start = `(${askAhead})(self, ${JSON.stringify(wasm)}, ${PIECE_BYTES});`;
  const lifeline = lifelineName('engine');
  const text = `${holdLifeline(lifeline)}${start}\npostMessage(null);\nimportScripts(${JSON.stringify(script)});`;
  const address = URL.createObjectURL(new Blob([text], { type: 'text/javascript' }));
  const worker = new Worker(address);
  const failed = new Promise<never>((_, reject) => {
    worker.addEventListener('error', (event) => reject(new Error(event.message)), { once: true });
  });
  // Heard by whoever opens the engine, which may be later.
  failed.catch(() => undefined);
  const asked = new Promise<void>((resolve) => {
    worker.addEventListener('message', () => resolve(), { once: true });
  });
  void asked.then(() => URL.revokeObjectURL(address));
  return { worker, wasm, asked, failed, ended: lifelineEnd(lifeline) };
}
