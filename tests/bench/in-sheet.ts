import type { Page } from '@playwright/test';
import { REPEATS } from './measure.ts';
import type { Measurement } from './results.ts';

const GRID = '[role="grid"][aria-label="Visits, one row a foot"]';
const FRAMES = 120;
/** What a frame takes at 60 a second. */
const FRAME_MS = 1000 / 60;
/** The page on which an edit of a toe length shows. */
const DEPENDENT = 'growth';
const CHANGED_COLUMN = 'Toe length before';

/** The sheet from its first row, whatever was scrolled to when it was last open. */
async function openSheet(page: Page): Promise<void> {
  await page.evaluate(() => {
    location.hash = 'records';
  });
  const grid = page.locator(GRID);
  await grid.waitFor();
  await grid.evaluate((element) => {
    element.scrollTop = 0;
  });
  await page.locator(`${GRID} [data-row="0"] [data-column="0"]`).waitFor();
}

/** The sheet scrolled half a window a frame, two seconds long, from five places. */
export async function measureScrolling(page: Page): Promise<Measurement[]> {
  const dropped: number[] = [];
  const longest: number[] = [];
  await openSheet(page);
  for (let k = 0; k < REPEATS; k++) {
    const gaps = await page.evaluate(([grid, from, frames]) => window.bench.scroll(grid, from, frames), [
      GRID,
      k / REPEATS,
      FRAMES,
    ] as const);
    const lost = gaps.map((gap) => Math.max(0, Math.round(gap / FRAME_MS) - 1)).reduce((a, b) => a + b, 0);
    dropped.push((100 * lost) / (lost + FRAMES));
    longest.push(Math.max(...gaps));
  }
  const note = `${FRAMES} frames, half a window each`;
  return [
    {
      key: 'browser scroll dropped',
      what: 'Frames dropped while the sheet is scrolled',
      unit: '%',
      values: dropped,
      note,
    },
    {
      key: 'browser scroll longest',
      what: 'Longest frame while the sheet is scrolled',
      unit: 'ms',
      values: longest,
      note,
    },
  ];
}

/** A toe length typed in, until the sheet shows it; then until the page that rests on it is redrawn as well. */
export async function measureEditing(page: Page): Promise<Measurement[]> {
  const shown: number[] = [];
  const redrawn: number[] = [];
  for (let k = 0; k < REPEATS; k++) {
    await openSheet(page);
    const headings = await page.locator(`${GRID} [role="columnheader"]`).allTextContents();
    const column = headings.findIndex((text) => text.startsWith(CHANGED_COLUMN));
    if (column < 0) throw new Error(`the sheet must have a column ${CHANGED_COLUMN}: ${headings.join(', ')}`);
    // Only the cells in view are drawn.
    await page.locator(`${GRID} [data-row="-1"] [data-column="${column}"]`).scrollIntoViewIfNeeded();
    const cell = `${GRID} [data-row="${k}"] [data-column="${column}"]`;
    // Longer than any toe of the herd, so that it is a change.
    const value = `${171 + k}.3`;
    await page.locator(cell).click();
    await page.keyboard.type(value);
    await page.evaluate(() => window.bench.onEnter());
    await page.keyboard.press('Enter');
    const ms = await page.evaluate(([at, text]) => window.bench.after(at, text), [cell, value] as const);
    shown.push(ms);
    redrawn.push(ms + (await page.evaluate((to) => window.bench.open(to), DEPENDENT)));
    console.log(`    edit ${k + 1}: ${Math.round(ms)} ms, ${Math.round(redrawn.at(-1)!)} ms`);
  }
  return [
    { key: 'browser edit', what: 'A cell changed until the sheet has redrawn', unit: 'ms', values: shown },
    {
      key: 'browser edit page',
      what: 'The same, and the growth page opened and settled on it',
      unit: 'ms',
      values: redrawn,
    },
  ];
}
