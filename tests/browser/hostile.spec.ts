import { readdirSync, readFileSync } from 'node:fs';
import type { Page } from '@playwright/test';
import { drop, expect, openPage, settled, test } from './watched-page.ts';

const FOLDER = new URL('../fixtures/hostile-pages/', import.meta.url);
const read = (name: string): Buffer => readFileSync(new URL(name, FOLDER));
/** The engine first, so that the rest is walked on one that was started anew. */
const PAGES = readdirSync(FOLDER).sort();

const entries = (page: Page, begins: string) => page.locator(`[data-entry^="${begins}"]`);

/** What a page's text must never become, and what no script of it may have done. */
async function harm(page: Page): Promise<string[]> {
  return page.evaluate(() => {
    const found = [
      ...document.querySelectorAll(
        'main :is(script, iframe, object, embed, link, meta, base, math, video, img)',
      ),
      ...document.querySelectorAll('.page-text :is(svg, form, style, [id], [name]), head base'),
      ...[...document.querySelectorAll('main *')].filter((each) =>
        [...each.attributes].some(
          ({ name, value }) =>
            name.startsWith('on') ||
            (/href|src|action|data$/.test(name) && /^\s*(javascript|data|vbscript|blob|file):/i.test(value)),
        ),
      ),
    ].map((each) => each.outerHTML.slice(0, 120));
    const state = globalThis as { hit?: unknown };
    if (state.hit !== undefined) found.push('a script ran');
    if ('polluted' in {}) found.push('a prototype was changed');
    return found;
  });
}

test('pages from strangers run nothing, reach nothing, and leave the tab usable', async ({ page }) => {
  test.setTimeout(180_000);
  await openPage(page, 'caseload');
  for (const name of PAGES) {
    await test.step(name, async () => {
      const title = /^title: (?:&\w+ )?"?(.*?)"?$/m.exec(read(name).toString())?.[1] ?? '';
      await drop(page, [{ name, type: 'text/markdown', bytes: read(name) }]);
      await expect(page.getByRole('heading', { level: 1 })).toHaveText(title);
      // Each can be stopped, as its turn comes.
      for (const endless of await entries(page, 'endless').all()) {
        await expect(endless).toHaveAttribute('data-status', 'running');
        await endless.getByRole('button', { name: 'Cancel' }).click();
        await expect(endless).toContainText('Stopped before it was worked out.');
      }
      await settled(page);
      for (const fine of await entries(page, 'fine').all())
        await expect(fine).toHaveAttribute('data-status', 'done');
      await expect(page.locator('[data-entry^="refused"][data-status="done"]')).toHaveCount(0);
      expect(await harm(page)).toEqual([]);
      await expect(page.getByTestId('engine-notice')).toHaveCount(0);
    });
  }
  await openPage(page, 'caseload');
  await expect(page.locator('[data-status="failed"]')).toHaveCount(0);
});

test('a query that breaks the engine is said to have, and one press goes on', async ({ page }) => {
  const text = '---\ntitle: Breaks\n---\n\n```query breaks\nSELECT list_sum(range(300000000)) AS n\n```\n';
  await openPage(page, 'caseload');
  await drop(page, [{ name: 'breaks.md', type: 'text/markdown', bytes: Buffer.from(text) }]);
  const notice = page.getByTestId('engine-notice');
  await expect(notice).toContainText('has stopped');
  await notice.getByRole('button', { name: 'Start it again' }).click();
  await expect(notice).toHaveCount(0);
  // The page is still open: it does not break the new engine as well.
  await expect(entries(page, 'breaks')).toContainText('not tried again by itself', { timeout: 60_000 });
  await page.getByRole('link', { name: /^Caseload/ }).click();
  await expect(page.getByTestId('busy')).toHaveCount(0, { timeout: 60_000 });
  await settled(page);
  await expect(page.locator('[data-status="failed"], [data-status="blocked"]')).toHaveCount(0);
});

test('names in records are names, whatever they look like', async ({ page }) => {
  const bytes = readFileSync(new URL('../hostile-horses.csv', FOLDER));
  await openPage(page, 'caseload');
  await drop(page, [{ name: '<img src=x onerror=window.hit=1>.csv', type: 'text/csv', bytes }]);
  await page.getByRole('button', { name: 'Read the rows', exact: true }).click();
  await expect(page.getByTestId('identity')).toContainText('6 rows read = 6 admitted + 0 set aside');
  expect(await harm(page)).toEqual([]);
  await page.getByRole('button', { name: 'To the pages' }).click();
  for (const id of ['records', 'one-horse', 'clients']) {
    await page.evaluate((to) => {
      location.hash = to;
    }, id);
    if (id === 'records') await expect(page.getByRole('grid')).toContainText('<script>window.hit=1</script>');
    else await settled(page);
    expect(await harm(page)).toEqual([]);
  }
});
