import type { Page } from '@playwright/test';
import { REPEATS } from './measure.ts';
import { shippedPages } from './page-desk.ts';
import type { Measurement } from './results.ts';

/** A round over all pages that takes longer is made three times, and one that takes far longer once. */
const LONG_ROUND_MS = 60_000;
const ENDLESS_ROUND_MS = 180_000;
/** The cohort is narrowed to the first level of this column, and widened again. */
const NARROWED_BY = 'Ground';

/** Every shipped page in one tab, round after round: opened, its cohort narrowed and widened, until all is redrawn. */
export async function measureInPages(page: Page): Promise<{ measurements: Measurement[]; notes: string[] }> {
  const pages = shippedPages();
  const times = new Map<string, number[]>();
  const add = (key: string, ms: number) => times.set(key, [...(times.get(key) ?? []), ms]);
  const failed = new Set<string>();
  let wanted = REPEATS;
  for (let round = 0; round < wanted; round++) {
    const began = performance.now();
    for (const { id } of pages) {
      add(`page ${id}`, await page.evaluate((to) => window.bench.open(to), id));
      add(`cohort ${id}`, await page.evaluate((by) => window.bench.narrow(by), NARROWED_BY));
      add(`cohort back ${id}`, await page.evaluate(() => window.bench.widen()));
      if ((await page.evaluate(() => window.bench.failed())) > 0) failed.add(id);
    }
    const took = performance.now() - began;
    console.log(`    round ${round + 1}: ${Math.round(took / 1000)} s`);
    if (took > ENDLESS_ROUND_MS) wanted = 1;
    else if (took > LONG_ROUND_MS) wanted = Math.min(wanted, 3);
  }
  const of = (kind: string, what: (title: string) => string): Measurement[] =>
    pages.map(({ id, page: { front } }) => ({
      key: `browser ${kind} ${id}`,
      what: what(front.title),
      unit: 'ms',
      values: times.get(`${kind} ${id}`) ?? [],
    }));
  return {
    measurements: [
      ...of('page', (title) => `Opened until settled: ${title}`),
      ...of('cohort', (title) => `Cohort narrowed until redrawn: ${title}`),
      ...of('cohort back', (title) => `Cohort widened until redrawn: ${title}`),
      {
        key: 'browser failed',
        what: 'Pages with an entry that failed',
        unit: 'count',
        values: [failed.size],
      },
    ],
    notes: failed.size > 0 ? [`An entry failed on: ${[...failed].join(', ')}.`] : [],
  };
}
