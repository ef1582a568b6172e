const BETWEEN_BREATHS_MS = 40;

/** Lets messages (a cancel) reach this thread between two pieces of work. */
export async function breathe(signal: AbortSignal | undefined): Promise<void> {
  await new Promise((resolve) => setTimeout(resolve, 0));
  signal?.throwIfAborted();
}

/**
 * To be called between small pieces of a long work: stops it when cancelled, and breathes now and then, as a browser makes
 * each breath last 4 ms.
 */
export function pacer(
  signal: AbortSignal | undefined,
  everyMs: number = BETWEEN_BREATHS_MS,
): () => Promise<void> {
  let last = performance.now();
  return async () => {
    signal?.throwIfAborted();
    if (performance.now() - last < everyMs) return;
    await breathe(signal);
    last = performance.now();
  };
}
