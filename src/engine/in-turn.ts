/** One connection holds one pending query: calls wait for their turn. */
export function makeQueue(): <T>(job: () => Promise<T>) => Promise<T> {
  const { alone } = makeLine();
  return alone;
}

/** Calls in the order in which they came. */
interface Line {
  /** With nothing else under way. */
  alone<T>(job: () => Promise<T>): Promise<T>;
  /** Begun while others of its kind are under way: whoever does the jobs has the next at hand when one is done. */
  together<T>(job: () => Promise<T>): Promise<T>;
}

interface Waiting {
  readonly isAlone: boolean;
  start(): Promise<unknown>;
}

/** `most` jobs at once: what has been begun can no longer be called off. */
export function makeLine(most = 1): Line {
  const waiting: Waiting[] = [];
  let running = 0;
  let isTaken = false;

  function next(): void {
    for (;;) {
      const first = waiting[0];
      if (!first || isTaken || running >= (first.isAlone ? 1 : most)) return;
      waiting.shift();
      running += 1;
      isTaken = first.isAlone;
      void first.start().finally(() => {
        running -= 1;
        isTaken = false;
        next();
      });
    }
  }
  const put =
    (isAlone: boolean) =>
    <T>(job: () => Promise<T>): Promise<T> =>
      new Promise((resolve, reject) => {
        waiting.push({ isAlone, start: () => job().then(resolve, reject) });
        next();
      });
  return { alone: put(true), together: put(false) };
}
