import { readdirSync } from 'node:fs';
import type { CDPSession, Page } from '@playwright/test';
import { tenHorsesFiles } from '../ten-horses.ts';
import { violations } from './axe.ts';
import { FINGER_TARGET, LEAST_TARGET, stumbles } from './stumbles.ts';
import { drop, expect, openPage, settled, test } from './watched-page.ts';

/** Every shipped page: one added is tested without being named here. `GROWOUT_PAGES=plan,clients` walks those alone. */
const ONLY = process.env.GROWOUT_PAGES?.split(',');
const PAGES = readdirSync(new URL('../../notebooks', import.meta.url))
  .filter((name) => name.endsWith('.md'))
  .map((name) => name.slice(0, -3))
  .filter((name) => ONLY?.includes(name) ?? true)
  .sort();

/** Goes to another page in the same tab, the herd staying loaded. */
async function turnTo(page: Page, id: string): Promise<void> {
  await page.evaluate((to) => {
    location.hash = to;
  }, id);
  await expect(page.locator(`nav.contents a[href="#${id}"]`)).toHaveAttribute('aria-current', 'page');
  await settled(page);
}

async function expectAnswered(page: Page, id: string): Promise<void> {
  await expect(page.locator('[data-status="failed"], [data-status="blocked"]'), id).toHaveCount(0);
  await expect(page.locator('main'), id).not.toContainText(/\bNaN\b|\bundefined\b|\[object/);
}

/**
 * One page as different people have it: a desk by day and by night, a tablet under a finger, a window at 200 % and at
 * 400 %. The page stays; only how it is looked at changes.
 */
async function lookAround(page: Page, session: CDPSession, id: string): Promise<void> {
  const stumblesAt = async (width: number, height: number, finger = 0) => {
    await page.setViewportSize({ width, height });
    return page.evaluate(stumbles, { least: LEAST_TARGET, finger });
  };
  const touch = (enabled: boolean) => session.send('Emulation.setTouchEmulationEnabled', { enabled });
  await page.emulateMedia({ colorScheme: 'light', reducedMotion: 'reduce' });
  expect.soft(await violations(page, 'all'), `${id}, light`).toEqual([]);
  expect.soft(await stumblesAt(1280, 900), `${id}, 1280 px`).toEqual([]);
  await page.emulateMedia({ colorScheme: 'dark', reducedMotion: 'reduce' });
  expect.soft(await violations(page, 'colour'), `${id}, dark`).toEqual([]);
  await touch(true);
  expect(await page.evaluate(() => matchMedia('(pointer: coarse)').matches)).toBe(true);
  expect.soft(await stumblesAt(820, 1100, FINGER_TARGET), `${id}, a tablet`).toEqual([]);
  await touch(false);
  expect.soft(await stumblesAt(640, 450), `${id}, 1280 px at 200 %`).toEqual([]);
  expect.soft(await violations(page, 'narrow'), `${id}, 640 px`).toEqual([]);
  expect.soft(await stumblesAt(320, 640), `${id}, 1280 px at 400 %`).toEqual([]);
  expect.soft(await violations(page, 'narrow'), `${id}, 320 px`).toEqual([]);
  await page.setViewportSize({ width: 1280, height: 900 });
}

/** Keeps count of what moves for longer than an eye notices; asked for less movement, there is none. */
async function watchMovement(page: Page): Promise<() => Promise<string[]>> {
  await page.addInitScript(() => {
    const moved: string[] = [];
    Object.assign(globalThis, { moved });
    const look = (event: Event): void => {
      for (const each of document.getAnimations()) {
        const duration = Number(each.effect?.getTiming().duration);
        if (duration > 10) moved.push(`${(event.target as Element).className}: ${duration} ms`);
      }
    };
    for (const kind of ['animationstart', 'transitionrun']) document.addEventListener(kind, look, true);
  });
  return () => page.evaluate(() => (globalThis as unknown as { moved: string[] }).moved);
}

test('every page answers on the demo herd, and keeps WCAG 2.2 AA at every size as far as a tool can tell', async ({
  page,
}) => {
  test.setTimeout(300_000);
  const moved = await watchMovement(page);
  await page.emulateMedia({ reducedMotion: 'reduce' });
  const session = await page.context().newCDPSession(page);
  await openPage(page, PAGES[0]!);
  for (const id of PAGES) {
    await turnTo(page, id);
    await expectAnswered(page, id);
    await expect(page.locator('[data-kind="chart"] svg'), id).not.toHaveCount(0);
    // A page of questions keeps what was found to itself.
    if ((await page.locator('[data-kind="question"]').count()) === 0) {
      await expect(page.locator('[data-kind="findings"]').first(), id).toContainText('95');
    }
    await expect(page.getByRole('complementary', { name: 'Cautions' }), id).toContainText('invented');
    await lookAround(page, session, id);
  }
  // Where the system's colours stand in for ours, the page that is open still stands out in the contents.
  await page.emulateMedia({ forcedColors: 'active' });
  const edges = await page
    .locator('nav.contents a')
    .evaluateAll((links) => links.map((link) => getComputedStyle(link).borderLeftColor));
  const shown = await page
    .locator('nav.contents a[aria-current]')
    .evaluate((link) => getComputedStyle(link).borderLeftColor);
  expect(edges.filter((edge) => edge === shown)).toHaveLength(1);
  expect(await moved(), 'less movement was asked for').toEqual([]);
});

test('every page answers on ten horses with one year of visits', async ({ page }) => {
  test.setTimeout(300_000);
  await openPage(page, 'growth');
  await drop(page, await tenHorsesFiles());
  await page
    .getByTestId('mapping')
    .getByRole('button', { name: /^Read the rows/ })
    .first()
    .click();
  await expect(page.getByTestId('identity')).toContainText('rows read');
  await page.getByRole('button', { name: 'To the pages' }).click();
  await expect(page.getByTestId('loaded')).toContainText('ten-horses');
  for (const id of PAGES) {
    await turnTo(page, id);
    await expectAnswered(page, id);
  }
});
