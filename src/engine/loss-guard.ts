import { EngineLost, isBroken } from '../core/engine-lost.ts';

/**
 * Lets jobs run on an engine that may end or break under them: those that run then, and every later one, reject with
 * `EngineLost`.
 */
export function guardLoss(ended: Promise<void>): <T>(job: () => Promise<T>) => Promise<T> {
  let lost: EngineLost | null = null;
  const underWay = new Set<(error: EngineLost) => void>();
  const lose = (detail?: string): EngineLost => {
    lost ??= new EngineLost(detail);
    for (const fail of underWay) fail(lost);
    underWay.clear();
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
      underWay.add(reject);
      job()
        .then(resolve, (error: Error) => reject(isBroken(error) ? lose(error.message) : error))
        .finally(() => underWay.delete(reject));
    });
}
