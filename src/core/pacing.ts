const BETWEEN_BREATHS_MS = 40;

let channel: MessageChannel | null = null;
const breathing: (() => void)[] = [];

/** In Node its own turn of the loop; in a browser a message to itself, as a timer there waits 4 ms at least. */
function turn(): Promise<void> {
  return new Promise((resolve) => {
    if (typeof setImmediate === 'function') {
      setImmediate(resolve);
      return;
    }
    if (!channel) {
      channel = new MessageChannel();
      channel.port1.onmessage = () => breathing.shift()?.();
    }
    breathing.push(resolve);
    channel.port2.postMessage(null);
  });
}

/** Lets messages (a cancel) reach this thread between two pieces of work. */
export async function breathe(signal: AbortSignal | undefined): Promise<void> {
  await turn();
  signal?.throwIfAborted();
}

/** To be called between small pieces of a long work: stops it when cancelled, and breathes now and then. */
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
