import { readdirSync } from 'node:fs';
import AxeBuilder from '@axe-core/playwright';
import type { Page } from '@playwright/test';
import { tenHorsesFiles } from '../ten-horses.ts';
import { drop, expect, openPage, settled, test } from './watched-page.ts';

/** Every shipped page: one added is tested without being named here. */
const PAGES = readdirSync(new URL('../../notebooks', import.meta.url))
  .filter((name) => name.endsWith('.md'))
  .map((name) => name.slice(0, -3))
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

async function violations(page: Page): Promise<string[]> {
  const found = await new AxeBuilder({ page })
    .withTags(['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'])
    .analyze();
  return found.violations.map(
    ({ id, nodes }) =>
      `${id}: ${nodes
        .map(({ html }) => html)
        .slice(0, 3)
        .join(' | ')}`,
  );
}

test('every page answers on the demo herd, and keeps WCAG 2.2 AA as far as a tool can tell', async ({
  page,
}) => {
  test.setTimeout(300_000);
  await openPage(page, PAGES[0]!);
  for (const id of PAGES) {
    await turnTo(page, id);
    await expectAnswered(page, id);
    expect(await page.locator('[data-kind="chart"] svg').count(), id).toBeGreaterThan(0);
    // A page of questions keeps what was found to itself.
    if ((await page.locator('[data-kind="question"]').count()) === 0) {
      await expect(page.locator('[data-kind="findings"]').first(), id).toContainText('95');
    }
    await expect(page.getByRole('complementary', { name: 'Cautions' }), id).toContainText('invented');
    for (const colorScheme of ['light', 'dark'] as const) {
      await page.emulateMedia({ colorScheme });
      expect(await violations(page), `${id}, ${colorScheme}`).toEqual([]);
    }
  }
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
