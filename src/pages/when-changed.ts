import { effect, untracked } from '@preact/signals';

/** Calls back when what is read of signals has changed, not for what it is at first. Returns the way to stop. */
export function whenChanged<T>(read: () => T, changed: (now: T) => void): () => void {
  let isFirst = true;
  return effect(() => {
    const now = read();
    untracked(() => {
      if (!isFirst) changed(now);
      isFirst = false;
    });
  });
}
