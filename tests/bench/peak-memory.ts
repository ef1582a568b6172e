import { readFileSync } from 'node:fs';
import type { Browser } from '@playwright/test';

/** How often is looked. The browser sets the kernel's own peak back from time to time, so that it alone is too low. */
const EVERY_MS = 200;

export interface WatchedMemory {
  /** Megabytes: the most so far. */
  soFar(): number;
  /** The same, and looks no more. */
  end(): Promise<number>;
}

/**
 * Peak resident memory of the tab's own process, page, workers and the engine's memory together: the most that Linux
 * told whenever it was looked. `performance.measureUserAgentSpecificMemory` would need cross-origin isolation, which this
 * program does without.
 */
export async function watchMemory(browser: Browser): Promise<WatchedMemory> {
  const session = await browser.newBrowserCDPSession();
  let most = 0;
  let tabs: readonly number[] = [];
  const find = async (): Promise<void> => {
    const { processInfo } = await session.send('SystemInfo.getProcessInfo');
    tabs = processInfo.filter(({ type }) => type === 'renderer').map(({ id }) => id);
  };
  const look = (): void => {
    for (const id of tabs) most = Math.max(most, peakMegabytes(id));
    find().catch(() => undefined);
  };
  const timer = setInterval(look, EVERY_MS);
  return {
    soFar: () => most,
    async end() {
      clearInterval(timer);
      await find();
      look();
      await session.detach();
      return most;
    },
  };
}

/** 0 for a process that has ended meanwhile. */
function peakMegabytes(id: number): number {
  try {
    // One that has ended but was not yet cleared away tells no memory.
    const kilobytes = /VmHWM:\s+(\d+) kB/.exec(readFileSync(`/proc/${id}/status`, 'utf8'))?.[1] ?? '0';
    return (Number(kilobytes) * 1024) / 1e6;
  } catch {
    return 0;
  }
}
