/** Lets a long computation breathe: call between steps; now and then it lets messages in, and stops when cancelled. */
export function pacer(signal: AbortSignal, everyMs = 40): () => Promise<void> {
  let last = performance.now();
  return async () => {
    if (performance.now() - last < everyMs) return;
    await new Promise((resolve) => setTimeout(resolve, 0));
    signal.throwIfAborted();
    last = performance.now();
  };
}

/** Runs a stepping computation to its end, breathing between steps. */
export async function paced<Step, Result>(
  steps: Generator<Step, Result, void>,
  pause: () => Promise<void>,
  onStep: (step: Step) => void = () => undefined,
): Promise<Result> {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
    onStep(step.value);
    await pause();
  }
}
