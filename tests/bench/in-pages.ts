import type { Page } from '@playwright/test';
import { type CivilDay, dayFromIso, isoFromDay } from '../../src/core/civil-day.ts';
import { shippedPages } from './page-desk.ts';
import type { Redrawn } from './probe.ts';
import type { Measurement } from './results.ts';

const PAGES = shippedPages();
/** After the last visit of every herd. */
const FIRST_DAY: CivilDay = dayFromIso('2026-11-25')!;
/** A quarter of the invented rows stand on it. */
const NARROWED_TO = ['Ground', 'firm'] as const;

/** What every page took, by what was done to it; and the pages on which an entry failed. */
export interface Rounds {
  readonly times: Map<string, number[]>;
  readonly failed: Set<string>;
}

function add(times: Rounds['times'], kind: string, id: string, ms: number): void {
  const key = `${kind} ${id}`;
  times.set(key, [...(times.get(key) ?? []), ms]);
}

export const noRounds = (): Rounds => ({ times: new Map(), failed: new Set() });

/**
 * Every shipped page of a tab in which a herd has just been opened, in the order of the contents: opened; its cohort
 * narrowed, widened, and narrowed to the same again. What was worked out over a cohort is kept, for every page; so each
 * page in each round has a last day of its own, after the last visit: the rows are the same, and none has been seen.
 */
export async function goThroughPages(tab: Page, round: number, { times, failed }: Rounds): Promise<void> {
  const toggle = (): Promise<Redrawn> =>
    tab.evaluate(([legend, level]) => window.bench.toggle(legend, level), NARROWED_TO);
  for (const [k, { id }] of PAGES.entries()) {
    await tab.evaluate((to) => window.bench.until(to), dayOf(round, k));
    const opened = await tab.evaluate((to) => window.bench.open(to), id);
    const first = await toggle();
    await toggle();
    const again = await toggle();
    await toggle();
    if ((await tab.evaluate(() => window.bench.failed())) > 0) failed.add(id);
    add(times, 'page', id, opened);
    add(times, 'cohort', id, first.plots);
    add(times, 'whole', id, first.whole);
    add(times, 'again', id, again.whole);
    const told = [opened, first.plots, first.whole, again.whole];
    console.log(`    ${id}: ${told.map((ms) => `${Math.round(ms)} ms`).join(', ')}`);
  }
}

/** The same rows as a cohort that was not seen before, by its last day, as `goThroughPages` takes them. */
function dayOf(round: number, place: number): string {
  return isoFromDay((FIRST_DAY + round * PAGES.length + place) as CivilDay);
}

/**
 * Only the change to a cohort never seen, round after round in one tab: every page is opened where the cohort is narrowed
 * already, as a large herd takes long to be worked out whole; then its last day becomes another one after the last visit.
 */
export async function changeCohorts(
  tab: Page,
  mostRounds: number,
  { times, failed }: Rounds,
  isOver: () => boolean,
): Promise<void> {
  const toggle = (): Promise<Redrawn> =>
    tab.evaluate(([legend, level]) => window.bench.toggle(legend, level), NARROWED_TO);
  await toggle();
  for (let round = 0; round < mostRounds; round += 1) {
    for (const [k, { id }] of PAGES.entries()) {
      if (isOver()) return;
      await tab.evaluate((to) => window.bench.until(to), dayOf(2 * round + 1, k));
      await tab.evaluate((to) => window.bench.open(to), id);
      const { plots, whole } = await tab.evaluate((to) => window.bench.change(to), dayOf(2 * round + 2, k));
      if ((await tab.evaluate(() => window.bench.failed())) > 0) failed.add(id);
      add(times, 'cohort', id, plots);
      add(times, 'whole', id, whole);
      console.log(`    ${id}: ${Math.round(plots)} ms, ${Math.round(whole)} ms`);
    }
  }
}

/** One page opened over the whole herd, and its cohort narrowed to one never seen while it is traced. */
export async function changeTraced(
  tab: Page,
  id: string,
  place: number,
  trace: { begin(): Promise<void>; end(): Promise<Buffer> },
): Promise<{ readonly ms: number; readonly traced: Buffer }> {
  const toggle = (): Promise<Redrawn> =>
    tab.evaluate(([legend, level]) => window.bench.toggle(legend, level), NARROWED_TO);
  await tab.evaluate((to) => window.bench.until(to), dayOf(0, place));
  await tab.evaluate((to) => window.bench.open(to), id);
  await trace.begin();
  const { whole: ms } = await toggle();
  const traced = await trace.end();
  await toggle();
  return { ms, traced };
}

/** Every page opened once over the whole herd; `tell` is told after each. Pages not begun before it was over are given. */
export async function openPages(
  tab: Page,
  { times, failed }: Rounds,
  tell: (id: string) => void,
  isOver: () => boolean,
): Promise<readonly string[]> {
  const left: string[] = [];
  for (const { id } of PAGES) {
    if (isOver()) {
      left.push(id);
      continue;
    }
    const ms = await tab.evaluate((to) => window.bench.open(to), id);
    if ((await tab.evaluate(() => window.bench.failed())) > 0) failed.add(id);
    times.set(`page ${id}`, [ms]);
    tell(id);
  }
  return left;
}

export function pageMeasurements({ times, failed }: Rounds): {
  measurements: Measurement[];
  notes: string[];
} {
  const of = (kind: string, what: (title: string) => string): Measurement[] =>
    PAGES.filter(({ id }) => times.has(`${kind} ${id}`)).map(({ id, page: { front } }) => ({
      key: `browser ${kind} ${id}`,
      what: what(front.title),
      unit: 'ms',
      values: times.get(`${kind} ${id}`) ?? [],
    }));
  return {
    measurements: [
      ...of('page', (title) => `Opened until settled: ${title}`),
      ...of('cohort', (title) => `Cohort never seen until every plot is redrawn: ${title}`),
      ...of('whole', (title) => `Cohort never seen until bands, tables and sentences stand: ${title}`),
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
