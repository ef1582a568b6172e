import { readFileSync } from 'node:fs';
import type { Locator, Page } from '@playwright/test';
import { expect, openPage, settled, test } from './watched-page.ts';

const entry = (page: Page, name: string): Locator => page.locator(`[data-entry="${name}"]`);
const sentence = (page: Page): Locator => entry(page, 'answers').locator('.finding p').first();

test('lengths are read in inches on the whole page, after a reload too; what is saved stays in mm', async ({
  page,
}) => {
  await openPage(page, 'growth');
  await expect(sentence(page)).toContainText('mm per 30');
  const inMm = Number(/averaged ([\d.]+)/.exec((await sentence(page).textContent()) ?? '')?.[1]);
  await page.getByLabel('inches').check();
  await expect(sentence(page)).toContainText('in per 30');
  await settled(page);
  const inInches = Number(/averaged ([\d.]+)/.exec((await sentence(page).textContent()) ?? '')?.[1]);
  expect(Math.abs(inInches * 25.4 - inMm)).toBeLessThan(0.02);
  await expect(entry(page, 'by_group').locator('svg')).toContainText('in per 30 days');
  await expect(entry(page, 'horses').locator('thead')).toContainText('Growth (in per 30 days)');
  // An angle's sentences hold no length: it is not worked out again.
  await expect(entry(page, 'angle')).toHaveAttribute('data-runs', '1');

  const save = entry(page, 'horses').getByRole('button', { name: 'Save this table as CSV' });
  const [download] = await Promise.all([page.waitForEvent('download'), save.click()]);
  const [header, first] = readFileSync(await download.path(), 'utf8').split('\r\n');
  const at = header!.split(',').indexOf('estimate_mm_per_30_days');
  expect(Number(first!.split(',')[at])).toBeGreaterThan(3);
  await expect(entry(page, 'horses').locator('.take-away')).toContainText(
    'Lengths in the file are in mm, as stored.',
  );

  await page.reload();
  await expect(page.getByLabel('inches')).toBeChecked();
  await expect(sentence(page)).toContainText('in per 30');
});

test('a method’s text opens beside its answer', async ({ page }) => {
  await openPage(page, 'growth');
  const notes = entry(page, 'rates');
  await notes.getByText('How this was worked out').click();
  await notes.getByText('The method in full').click();
  await expect(notes.getByRole('heading', { name: 'The question' })).toBeVisible();
  await expect(notes.getByRole('cell', { name: 'lme4', exact: true }).first()).toBeVisible();
});
