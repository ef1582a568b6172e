/** Lets jobs of one kind run together, and jobs of different kinds only one kind after the other. */
interface Turns {
  /** `enter` runs once before the jobs of a turn, with nothing else under way. */
  take<T>(kind: string, enter: () => Promise<void>, job: () => Promise<T>): Promise<T>;
}

interface Waiting {
  readonly kind: string;
  readonly enter: () => Promise<void>;
  start(entered: Promise<void>): void;
}

export function makeTurns(): Turns {
  const queue: Waiting[] = [];
  let current: { readonly kind: string; readonly entered: Promise<void> } | null = null;
  let running = 0;

  function next(): void {
    const first = queue[0];
    if (!first) return;
    if (running > 0 && first.kind !== current?.kind) return;
    if (running === 0) current = { kind: first.kind, entered: first.enter() };
    // Those that came later wait behind another kind's turn: no kind is kept waiting for ever.
    while (queue[0]?.kind === current?.kind) {
      running += 1;
      queue.shift()!.start(current!.entered);
    }
  }

  return {
    take: (kind, enter, job) =>
      new Promise((resolve, reject) => {
        const start = (entered: Promise<void>) => {
          entered
            .then(job)
            .then(resolve, reject)
            .finally(() => {
              running -= 1;
              next();
            });
        };
        queue.push({ kind, enter, start });
        next();
      }),
  };
}
