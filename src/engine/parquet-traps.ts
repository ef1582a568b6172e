/** Work of the codec that may end in a trap. */
interface TrapWatch {
  /** As the promise, or rejected with the trap that would leave it open for ever. */
  or<T>(promise: Promise<T>): Promise<T>;
  end(): void;
}

const open = new Set<(trap: unknown) => void>();
let plain: typeof queueMicrotask | null = null;

/**
 * The codec's own code panics on some damaged files. It runs as a microtask of its own (wasm-bindgen's futures), so
 * the trap reaches no promise: the page would wait for ever, and Node would end. While somebody watches, a trap in a
 * microtask rejects what is waited for instead.
 */
export function watchTraps(): TrapWatch {
  let stop: (trap: unknown) => void = () => undefined;
  const trapped = new Promise<never>((_, reject) => {
    stop = reject;
  });
  trapped.catch(() => undefined);
  if (open.size === 0) {
    plain = globalThis.queueMicrotask;
    globalThis.queueMicrotask = guarded(plain);
  }
  open.add(stop);
  return {
    or: (promise) => Promise.race([promise, trapped]),
    end() {
      if (open.delete(stop) && open.size === 0 && plain) globalThis.queueMicrotask = plain;
    },
  };
}

function guarded(queue: typeof queueMicrotask): typeof queueMicrotask {
  return (task) =>
    queue(() => {
      try {
        task();
      } catch (error) {
        if (!(error instanceof WebAssembly.RuntimeError) || open.size === 0) throw error;
        for (const stop of open) stop(error);
      }
    });
}
