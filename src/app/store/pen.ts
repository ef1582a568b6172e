/**
 * Which of several tabs holds the pen. The lock says who and is let go when a tab ends, however it ends; that no two
 * tabs write is seen to by the store itself.
 */
export interface Pen {
  /** Takes it from the tab that holds it. */
  takeOver(): Promise<void>;
  /** Tells the other tabs. */
  tell(news: News): void;
}

export type News = 'changed' | 'erased';

interface PenEvents {
  /** The pen is ours, at the start, by taking it over, or as the other tab was closed. */
  readonly given: () => void;
  /** Another tab holds it. */
  readonly elsewhere: () => void;
  readonly heard: (news: News) => void;
}

const NAME = 'growout-pen';

/** Asks for the pen and waits in line for it where another tab has it. A browser without locks gives it at once. */
export function askForPen(events: PenEvents): Pen {
  const channel = typeof BroadcastChannel === 'undefined' ? null : new BroadcastChannel(NAME);
  channel?.addEventListener('message', ({ data }) => events.heard(data as News));
  const locks = typeof navigator === 'undefined' ? undefined : navigator.locks;

  const hold = (): Promise<never> => {
    events.given();
    return new Promise(() => undefined);
  };
  const lost = (): void => {
    events.elsewhere();
    waitInLine();
  };
  const waitInLine = (): void => {
    locks?.request(NAME, hold).catch(lost);
  };

  if (!locks) events.given();
  else {
    locks.request(NAME, { ifAvailable: true }, (lock) => (lock ? hold() : 'taken')).then(lost, lost);
  }
  return {
    async takeOver() {
      if (!locks) return events.given();
      await new Promise<void>((resolve) => {
        locks
          .request(NAME, { steal: true }, () => {
            resolve();
            return hold();
          })
          .catch(lost);
      });
    },
    tell: (news) => channel?.postMessage(news),
  };
}
