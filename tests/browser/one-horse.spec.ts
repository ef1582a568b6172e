import { expect, openPage, settled, test } from './watched-page.ts';

const pagesOf = (pdf: Buffer): number =>
  (pdf.toString('latin1').match(/\/Type\s*\/Page\b(?!s)/g) ?? []).length;

test.describe('one horse', () => {
  test('a horse is chosen by name, id and client; each foot stands beside the others', async ({ page }) => {
    await openPage(page, 'one-horse');
    const horse = page.locator('[data-entry="chosen"] select');
    await horse.selectOption({ label: 'Fern · H089 · Pebblewick' });
    await settled(page);
    await expect(page.locator('[data-entry="answers"]')).toContainText('Fern (H089), Pebblewick,');
    const toe = page.locator('[data-entry="toe"] svg');
    for (const foot of ['LF, left fore', 'RF, right fore', 'LH, left hind', 'RH, right hind']) {
      await expect(toe).toContainText(foot);
    }
    await page.locator('[data-entry="problems"] svg rect[data-row]').first().click();
    await expect(page.getByTestId('rows-count')).toContainText('foot visits');
  });

  for (const width of [1280, 820]) {
    test(`prints on one side of A4 and of US Letter, from a window ${width} px wide`, async ({ page }) => {
      await page.setViewportSize({ width, height: 900 });
      await openPage(page, 'one-horse');
      // One with little to tell, and one on which much stands.
      for (const id of ['H103', 'H083']) {
        await page.locator('[data-entry="chosen"] select').selectOption(id);
        await settled(page);
        await expect(page.locator('[data-entry="problems"] svg')).toBeVisible();
        for (const format of ['A4', 'Letter'] as const) {
          expect(pagesOf(await page.pdf({ format })), `${id}, ${format}`).toBe(1);
        }
      }
      await page.emulateMedia({ media: 'print' });
      await expect(page.locator('[data-entry="chosen"] .choice-printed')).toContainText('Nutmeg · H083');
      for (const name of ['answers', 'next_visit', 'toe', 'problems']) {
        await expect(page.locator(`[data-entry="${name}"]`), name).toBeVisible();
      }
      await expect(page.getByRole('complementary', { name: 'Cautions' })).toContainText('veterinarian');
      for (const name of ['years', 'growth', 'sides', 'angles', 'heel_sole']) {
        await expect(page.locator(`[data-entry="${name}"]`), name).toBeHidden();
      }
      await expect(page.locator('.masthead')).toBeHidden();
      // Chromium does not repeat headings on the next sheet where a box of a button stands in them.
      const displays = await page
        .locator('.result-table thead button')
        .evaluateAll((buttons) => [...new Set(buttons.map((each) => getComputedStyle(each).display))]);
      expect(displays).toEqual(['contents']);
    });
  }

  test('a long name breaks nothing', async ({ page }) => {
    await page.setViewportSize({ width: 820, height: 1100 });
    await openPage(page, 'one-horse');
    await expect
      .poll(() => page.evaluate(() => document.documentElement.scrollWidth))
      .toBeLessThanOrEqual(820);
    await page.locator('[data-entry="chosen"] select').evaluate((select) => {
      select.append(new Option('Very long name of a horse '.repeat(12), 'none'));
    });
    await expect
      .poll(() => page.evaluate(() => document.documentElement.scrollWidth))
      .toBeLessThanOrEqual(820);
  });
});
