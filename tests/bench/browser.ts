import { readFileSync } from 'node:fs';
import { type Browser, chromium } from '@playwright/test';
import { CHROMIUM_ARGUMENTS, chromiumPath } from '../../src/tasks/chromium.mjs';
import { measureFirstLoad } from './first-load.ts';
import { measureInPages } from './in-pages.ts';
import { measureEditing, measureScrolling } from './in-sheet.ts';
import { loadRepeatedly } from './load-file.ts';
import type { Measurement } from './results.ts';
import { type Served, serveBuilt } from './served.ts';

interface Measured {
  readonly measurements: Measurement[];
  readonly notes: string[];
  readonly versions: Record<string, string>;
}

/** The built notebook in a real Chromium, served from this machine, with one herd. */
export async function measureBrowser(folder: string): Promise<Measured> {
  const served = await serveBuilt();
  const browser = await chromium.launch({ executablePath: await chromiumPath(), args: CHROMIUM_ARGUMENTS });
  try {
    return await measure(browser, served, folder);
  } finally {
    await browser.close();
    await served.close();
  }
}

async function measure(browser: Browser, served: Served, folder: string): Promise<Measured> {
  const measurements: Measurement[] = [];
  const notes: string[] = [];
  const versions = { Chromium: browser.version() };
  /** What fails is said, and the rest goes on. */
  const attempt = async (what: string, job: () => Promise<readonly Measurement[]>): Promise<void> => {
    console.log(`  ${what}`);
    try {
      measurements.push(...(await job()));
    } catch (error) {
      notes.push(`${what} failed: ${error instanceof Error ? error.message.split('\n')[0] : error}`);
      console.warn(`  ${notes.at(-1)}`);
    }
  };
  await attempt('first load', () => measureFirstLoad(browser, served));
  await attempt('CSV through the file input', async () => {
    const { opened, values } = await loadRepeatedly(browser, served, folder, 'csv');
    await opened.context.close();
    return [{ key: 'browser load csv', what: 'CSV through the file input', unit: 'ms', values }];
  });
  await attempt('Parquet through the file input, and what follows', async () => {
    const { opened, values } = await loadRepeatedly(browser, served, folder, 'parquet');
    measurements.push({
      key: 'browser load parquet',
      what: 'Parquet through the file input',
      unit: 'ms',
      values,
    });
    const { page, context } = opened;
    await page.getByRole('button', { name: 'To the pages' }).click();
    await attempt('pages', async () => {
      const pages = await measureInPages(page);
      notes.push(...pages.notes);
      return pages.measurements;
    });
    await attempt('scrolling the sheet', () => measureScrolling(page));
    await attempt('editing', () => within(EDITING_MS, measureEditing(page)));
    measurements.push(await peakMemory(browser));
    await context.close();
    return [];
  });
  return { measurements, notes, versions };
}

/** What never settles must not keep the other figures from being told. */
const EDITING_MS = 60_000;

function within<T>(ms: number, job: Promise<T>): Promise<T> {
  job.catch(() => undefined);
  return Promise.race([
    job,
    new Promise<never>((_, reject) =>
      setTimeout(() => reject(new Error(`not done after ${ms / 1000} s`)), ms),
    ),
  ]);
}

/**
 * Peak resident memory of the tab's own process, page, workers and the engine's memory together, as Linux kept it since
 * the process began. `performance.measureUserAgentSpecificMemory` would need cross-origin isolation, which this program
 * does without.
 */
async function peakMemory(browser: Browser): Promise<Measurement> {
  const session = await browser.newBrowserCDPSession();
  const { processInfo } = await session.send('SystemInfo.getProcessInfo');
  const peaks = processInfo
    .filter(({ type }) => type === 'renderer')
    .map(
      ({ id }) => Number(/VmHWM:\s+(\d+) kB/.exec(readFileSync(`/proc/${id}/status`, 'utf8'))?.[1]) * 1024,
    );
  return {
    key: 'browser memory',
    what: 'Peak memory of the tab, all of the above done in it',
    unit: 'MB',
    values: [Math.max(...peaks) / 1e6],
    note: 'VmHWM of its process',
  };
}
