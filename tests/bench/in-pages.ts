import type { Page } from '@playwright/test';
import { type CivilDay, dayFromIso, isoFromDay } from '../../src/core/civil-day.ts';
import { shippedPages } from './page-desk.ts';
import type { Measurement } from './results.ts';

const PAGES = shippedPages();
/** From here on there are some two fifths of the invented rows. */
const FIRST_DAY: CivilDay = dayFromIso('2025-04-01')!;

/** What every page took, by what was done to it; and the pages on which an entry failed. */
export interface Rounds {
  readonly times: Map<string, number[]>;
  readonly failed: Set<string>;
}

export const noRounds = (): Rounds => ({ times: new Map(), failed: new Set() });

/**
 * Every shipped page of a tab in which a herd has just been opened, in the order of the contents: opened; its cohort
 * narrowed to visits from a day on, widened, and narrowed to the same again. Each page and each round has a day of its
 * own, since what was worked out over a cohort is kept, for every page.
 */
export async function goThroughPages(tab: Page, round: number, { times, failed }: Rounds): Promise<void> {
  const add = (kind: string, id: string, ms: number): void => {
    const key = `${kind} ${id}`;
    times.set(key, [...(times.get(key) ?? []), ms]);
  };
  const narrow = (to: string): Promise<number> => tab.evaluate((day) => window.bench.narrow(day), to);
  const widen = (): Promise<number> => tab.evaluate(() => window.bench.widen());
  for (const [k, { id }] of PAGES.entries()) {
    const from = isoFromDay((FIRST_DAY + round * PAGES.length + k) as CivilDay);
    const opened = await tab.evaluate((to) => window.bench.open(to), id);
    add('page', id, opened);
    const first = await narrow(from);
    add('cohort', id, first);
    await widen();
    const again = await narrow(from);
    add('again', id, again);
    await widen();
    if ((await tab.evaluate(() => window.bench.failed())) > 0) failed.add(id);
    console.log(`    ${id}: ${[opened, first, again].map((ms) => `${Math.round(ms)} ms`).join(', ')}`);
  }
}

export function pageMeasurements({ times, failed }: Rounds): {
  measurements: Measurement[];
  notes: string[];
} {
  const of = (kind: string, what: (title: string) => string): Measurement[] =>
    PAGES.map(({ id, page: { front } }) => ({
      key: `browser ${kind} ${id}`,
      what: what(front.title),
      unit: 'ms',
      values: times.get(`${kind} ${id}`) ?? [],
    }));
  return {
    measurements: [
      ...of('page', (title) => `Opened until settled: ${title}`),
      ...of('cohort', (title) => `Cohort never seen until redrawn: ${title}`),
      ...of('again', (title) => `The same cohort again: ${title}`),
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
