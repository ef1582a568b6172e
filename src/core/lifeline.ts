/**
 * How another thread's end is noticed, however it came: it holds a lock from its first line on, which the browser lets go
 * of when the thread is gone. A thread that was ended from outside says nothing itself.
 */

/** A line of script for a worker to begin with. A browser without locks runs on without. */
export function holdLifeline(name: string): string {
  return `navigator.locks?.request(${JSON.stringify(name)}, () => new Promise(() => {}));\n`;
}

/** Differs from every other. */
export function lifelineName(of: string): string {
  return `growout-${of}-${crypto.getRandomValues(new Uint32Array(4)).join('-')}`;
}

const BETWEEN_LOOKS_MS = 200;

/** Resolves when the thread that holds the lifeline has ended. Never where the browser has no locks. */
export async function lifelineEnd(name: string): Promise<void> {
  const locks = typeof navigator === 'undefined' ? undefined : navigator.locks;
  if (!locks) return new Promise(() => undefined);
  // Free before the thread's first line has run as well.
  while (await locks.request(name, { ifAvailable: true }, (lock) => lock !== null)) {
    await new Promise((resolve) => setTimeout(resolve, BETWEEN_LOOKS_MS));
  }
  await locks.request(name, () => undefined);
}
