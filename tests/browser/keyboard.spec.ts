import type { Page } from '@playwright/test';
import { records } from './keeping-helpers.ts';
import { expect, openPage, settled, test } from './watched-page.ts';

/** Where the keyboard is: what stands there is called, and what is wrong with how it shows. */
function stopAt(page: Page): Promise<{ readonly name: string; readonly fault: string } | null> {
  return page.evaluate(() => {
    const at = document.activeElement;
    if (!at || at === document.body) return null;
    const label = at.closest('label') ?? (at as HTMLInputElement).labels?.[0];
    const name = (at.getAttribute('aria-label') ?? label?.textContent ?? at.textContent ?? '').trim();
    // A field for files is hidden in its label, which shows the focus for it.
    const shown = at.matches('.visually-hidden') && label ? label : at;
    const { outlineStyle, outlineWidth } = getComputedStyle(shown);
    const { left, right, top, bottom } = shown.getBoundingClientRect();
    const x = (Math.max(left, 0) + Math.min(right, innerWidth)) / 2;
    const y = (Math.max(top, 0) + Math.min(bottom, innerHeight)) / 2;
    const above = document.elementFromPoint(x, y);
    const faults = [
      (outlineStyle === 'none' || Number.parseFloat(outlineWidth) < 1) && 'no mark that it has the focus',
      (bottom <= 0 || top >= innerHeight) && 'out of sight',
      !(above && (shown.contains(above) || above.contains(shown))) && `covered by ${above?.className}`,
    ];
    return { name: name.replaceAll(/\s+/g, ' '), fault: faults.filter(Boolean).join(', ') };
  });
}

/** Presses Tab until something of this name has the focus; every stop on the way must show that it has it. */
async function reach(page: Page, name: RegExp, key: 'Tab' | 'Shift+Tab' = 'Tab'): Promise<void> {
  const passed: string[] = [];
  for (let presses = 0; presses < 200; presses += 1) {
    await page.keyboard.press(key);
    const at = await stopAt(page);
    if (!at) continue;
    expect(at.fault, `at “${at.name.slice(0, 60)}” on the way to ${name}`).toBe('');
    if (name.test(at.name)) return;
    passed.push(at.name.slice(0, 30));
  }
  throw new Error(`the keyboard must reach ${name}: ${passed.slice(-40).join(' > ')}`);
}

async function press(page: Page, name: RegExp, key: 'Tab' | 'Shift+Tab' = 'Tab'): Promise<void> {
  await reach(page, name, key);
  await page.keyboard.press('Enter');
}

test('the whole job by keyboard: open, map, read, look into, narrow, change, see it follow, save', async ({
  page,
}) => {
  await openPage(page, 'caseload');

  await test.step('a file is opened and read', async () => {
    const choosing = page.waitForEvent('filechooser');
    await reach(page, /^Open visit records/);
    await page.keyboard.press('Space');
    await (await choosing).setFiles([{ ...records(), mimeType: 'text/csv', buffer: records().bytes }]);
    await expect(page.getByTestId('mapping')).toBeVisible();
    await press(page, /^Read the rows$/);
    await expect(page.getByTestId('identity')).toContainText('40 rows read');
    await press(page, /^To the pages$/);
    await expect(page.getByTestId('loaded')).toContainText('round.csv');
  });

  const growth = page.locator('[data-entry="answers"]');
  await test.step('a page is chosen, past the contents, and is named in the title', async () => {
    await press(page, /^Growth/, 'Shift+Tab');
    await settled(page);
    await expect(page).toHaveTitle('Growth · Growout');
    await press(page, /^Past the contents$/, 'Shift+Tab');
    await expect(page.locator('main')).toBeFocused();
  });

  await test.step('the rows behind a sentence open, and closing them leads back to it', async () => {
    await press(page, /^Rows behind this$/);
    await expect(page.getByTestId('rows-count')).toContainText('trim cycles');
    await expect(page.getByRole('button', { name: 'Close' })).toBeFocused();
    await reach(page, /./);
    await expect(page.getByTestId('rows-panel').getByRole('grid')).toBeFocused();
    await page.keyboard.press('ArrowDown');
    await page.keyboard.press('Escape');
    await expect(page.getByTestId('rows-panel')).toHaveCount(0);
    await expect(page.getByRole('button', { name: 'Rows behind this' }).first()).toBeFocused();
  });

  await test.step('a mark of a drawing says what it shows, and its table opens', async () => {
    await reach(page, /^Marks of the chart/);
    await page.keyboard.press('ArrowRight');
    await expect(page.locator('.chart-readout').first()).toContainText(/\d/);
    await press(page, /^Show as table$/);
    await expect(page.locator('details.chart-table[open] table').first()).toBeVisible();
  });

  await test.step('the herd is narrowed and taken whole again', async () => {
    await press(page, /^Narrow the herd$/, 'Shift+Tab');
    await reach(page, /^fore/);
    await page.keyboard.press('Space');
    await expect(page.getByTestId('cohort')).toContainText('4 feet');
    await press(page, /^Whole herd$/, 'Shift+Tab');
    await expect(page.getByTestId('cohort')).toContainText('8 feet');
    await settled(page);
  });

  const before = await growth.textContent();
  await test.step('a cell is changed in the sheet, which lets go of the keyboard again', async () => {
    await press(page, /^Records/, 'Shift+Tab');
    const grid = page.getByRole('grid');
    await expect(grid.locator('[data-row="0"]')).toContainText('Ada');
    await reach(page, /^Visits, one row a foot$/);
    const headings = await grid.getByRole('columnheader').allTextContents();
    const toe = headings.findIndex((text) => text.startsWith('Toe length before'));
    for (let column = 0; column < toe; column += 1) await page.keyboard.press('ArrowRight');
    for (let row = 0; row < 4; row += 1) await page.keyboard.press('ArrowDown');
    await page.keyboard.type('99');
    await page.keyboard.press('Enter');
    await expect(grid.locator(`[data-row="4"] [data-column="${toe}"]`)).toHaveText('99.0');
    await reach(page, /^Where your work lies/);
  });

  await test.step('the page follows the change', async () => {
    await press(page, /^Growth/, 'Shift+Tab');
    await settled(page);
    await expect(growth).not.toHaveText(before ?? '');
  });

  await test.step('the study is saved', async () => {
    await press(page, /^Where your work lies/);
    const saving = page.waitForEvent('download');
    await press(page, /^Save a study file$/, 'Shift+Tab');
    expect((await saving).suggestedFilename()).toMatch(/\.growout$/);
  });
});
