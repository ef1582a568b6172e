export { pacer } from '../core/pacing.ts';

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
