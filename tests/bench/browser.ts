import { type Browser, chromium } from '@playwright/test';
import { CHROMIUM_ARGUMENTS, chromiumPath } from '../../src/tasks/chromium.mjs';
import { measureFirstLoad } from './first-load.ts';
import { changeCohorts, goThroughPages, noRounds, openPages, pageMeasurements } from './in-pages.ts';
import { measureEditing, measureScrolling } from './in-sheet.ts';
import { loadFile } from './load-file.ts';
import { wantsMore } from './measure.ts';
import type { FileKind } from './native.ts';
import { watchMemory } from './peak-memory.ts';
import type { Measured, Measurement } from './results.ts';
import { type Served, serveBuilt } from './served.ts';

/** What can be measured by itself. */
export const BROWSER_PIECES = ['first', 'csv', 'pages', 'cohorts', 'opened', 'sheet'] as const;
type Piece = (typeof BROWSER_PIECES)[number];

/** A round over all pages that takes longer is made three times, and one that takes far longer once. */
const LONG_ROUND_MS = 60_000;
const ENDLESS_ROUND_MS = 180_000;

interface Given {
  readonly browser: Browser;
  readonly served: Served;
  readonly folder: string;
}

const PIECES: Readonly<Record<Piece, (given: Given) => Promise<Omit<Measured, 'versions'>>>> = {
  first: async ({ browser, served }) => ({ measurements: await measureFirstLoad(browser, served) }),
  csv: async (given) => ({ measurements: [loading('csv', await loadings(given, 'csv'))] }),
  pages: inPages,
  cohorts: inCohorts,
  opened: inOpened,
  sheet: inSheet,
};

/** The built notebook in a real Chromium, served from this machine, with one herd; of its pieces those named. */
export async function measureBrowser(folder: string, pieces: readonly string[]): Promise<Measured> {
  const served = await serveBuilt();
  const browser = await chromium.launch({ executablePath: await chromiumPath(), args: CHROMIUM_ARGUMENTS });
  const measurements: Measurement[] = [];
  const notes: string[] = [];
  try {
    for (const piece of BROWSER_PIECES.filter((each) => pieces.includes(each))) {
      console.log(`  ${piece}`);
      // What fails is said, and the rest goes on.
      try {
        const measured = await PIECES[piece]({ browser, served, folder });
        // Two pieces may give the same, `cohorts` as a quicker way to what `pages` has: the first stands.
        const known = new Set(measurements.map(({ key }) => key));
        measurements.push(...measured.measurements.filter(({ key }) => !known.has(key)));
        notes.push(...(measured.notes ?? []));
      } catch (error) {
        notes.push(`${piece} failed: ${error instanceof Error ? error.message.split('\n')[0] : error}`);
        console.warn(`  ${notes.at(-1)}`);
      }
    }
    return { measurements, notes, versions: { Chromium: browser.version() } };
  } finally {
    await browser.close();
    await served.close();
  }
}

const loading = (kind: FileKind, values: readonly number[]): Measurement => ({
  key: `browser load ${kind}`,
  what: `${kind === 'csv' ? 'CSV' : 'Parquet'} through the file input`,
  unit: 'ms',
  values,
});

async function loadings({ browser, served, folder }: Given, kind: FileKind): Promise<number[]> {
  const values: number[] = [];
  while (wantsMore(values)) {
    const { context, ms } = await loadFile(browser, served, folder, kind);
    values.push(ms);
    await context.close();
  }
  return values;
}

/** Round after round in a fresh profile each: a herd opened, then every page. */
async function inPages({ browser, served, folder }: Given): Promise<Omit<Measured, 'versions'>> {
  const rounds = noRounds();
  const loads: number[] = [];
  const took: number[] = [];
  const opening: number[] = [];
  const peaks: number[] = [];
  while (wantsMore(took, LONG_ROUND_MS, ENDLESS_ROUND_MS)) {
    const watched = await watchMemory(browser);
    const { context, page, ms } = await loadFile(browser, served, folder, 'parquet');
    loads.push(ms);
    opening.push(watched.soFar());
    await page.getByRole('button', { name: 'To the pages' }).click();
    const began = performance.now();
    await goThroughPages(page, took.length, rounds);
    took.push(performance.now() - began);
    peaks.push(await watched.end());
    console.log(
      `    opened in ${ms.toFixed(0)} ms, pages ${took.at(-1)!.toFixed(0)} ms, ${peaks.at(-1)!.toFixed(0)} MB`,
    );
    await context.close();
  }
  const { measurements, notes } = pageMeasurements(rounds);
  return {
    measurements: [
      loading('parquet', loads),
      ...measurements,
      memory('opening', 'the herd was opened', opening),
      memory('pages', 'the herd and then every page was opened', peaks),
    ],
    notes,
  };
}

/** So many rounds of cohort changes at most, and no page begun later than this. */
const COHORT_ROUNDS = 3;
const COHORTS_END_MS = 18 * 60_000;
/** No page of a very large herd is opened later than this. */
const OPENED_END_MS = 22 * 60_000;

const clock = (ms: number): (() => boolean) => {
  const end = performance.now() + ms;
  return () => performance.now() > end;
};

/** Changes to a cohort never seen alone, in one tab: quicker than rounds of `pages`, of a million rows above all. */
async function inCohorts({ browser, served, folder }: Given): Promise<Omit<Measured, 'versions'>> {
  const isOver = clock(COHORTS_END_MS);
  const rounds = noRounds();
  const { context, page } = await loadFile(browser, served, folder, 'parquet');
  await page.getByRole('button', { name: 'To the pages' }).click();
  await changeCohorts(page, COHORT_ROUNDS, rounds, isOver);
  await context.close();
  const { measurements, notes } = pageMeasurements(rounds);
  return { measurements: measurements.filter(({ key }) => /^browser (cohort|whole) /.test(key)), notes };
}

/** Every page opened once, with the peak of memory by then: what of a very large herd there is time for. */
async function inOpened({ browser, served, folder }: Given): Promise<Omit<Measured, 'versions'>> {
  const isOver = clock(OPENED_END_MS);
  const rounds = noRounds();
  const watched = await watchMemory(browser);
  const { context, page, ms } = await loadFile(browser, served, folder, 'parquet');
  const opening = watched.soFar();
  console.log(`    opened in ${ms.toFixed(0)} ms, ${opening.toFixed(0)} MB`);
  await page.getByRole('button', { name: 'To the pages' }).click();
  const tell = (id: string): void =>
    console.log(
      `    ${id}: ${rounds.times.get(`page ${id}`)![0]!.toFixed(0)} ms, ${watched.soFar().toFixed(0)} MB`,
    );
  const left = await openPages(page, rounds, tell, isOver);
  const peak = await watched.end();
  await context.close();
  const { measurements, notes } = pageMeasurements(rounds);
  return {
    measurements: [
      loading('parquet', [ms]),
      // Of pages not opened nobody knows whether an entry fails.
      ...measurements.filter(({ key }) => key !== 'browser failed' || left.length === 0),
      memory('opening', 'the herd was opened', [opening]),
      memory('pages', 'the herd and then every page was opened', [peak]),
    ],
    notes:
      left.length > 0 ? [...notes, `Time was over before these were opened: ${left.join(', ')}.`] : notes,
  };
}

async function inSheet({ browser, served, folder }: Given): Promise<Omit<Measured, 'versions'>> {
  const { context, page } = await loadFile(browser, served, folder, 'parquet');
  const watched = await watchMemory(browser);
  const measurements = [...(await measureScrolling(page)), ...(await measureEditing(page))];
  const peak = await watched.end();
  await context.close();
  return { measurements: [...measurements, memory('sheet', 'the sheet was scrolled and changed', [peak])] };
}

const memory = (key: string, doing: string, values: readonly number[]): Measurement => ({
  key: `browser memory ${key}`,
  what: `Peak memory of the tab while ${doing}`,
  unit: 'MB',
  values,
  note: 'its process, looked at five times a second',
});
