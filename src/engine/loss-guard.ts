import { EngineLost, isBroken } from '../core/engine-lost.ts';

/**
 * Lets jobs run on an engine that may end or break under them: the one that runs then, and every later one, rejects with
 * `EngineLost`. Jobs come one at a time.
 */
export function guardLoss(ended: Promise<void>): <T>(job: () => Promise<T>) => Promise<T> {
  let lost: EngineLost | null = null;
  let fail: (error: EngineLost) => void = () => undefined;
  const lose = (detail?: string): EngineLost => {
    lost ??= new EngineLost(detail);
    fail(lost);
    return lost;
  };
  void ended.then(() => lose());
  return (job) =>
    new Promise((resolve, reject) => {
      if (lost) {
        reject(lost);
        return;
      }
      // Not raced: what waits for the end of a race holds on to every result until then.
      fail = reject;
      job().then(resolve, (error: Error) => reject(isBroken(error) ? lose(error.message) : error));
    });
}
