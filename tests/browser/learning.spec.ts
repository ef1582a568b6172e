import { cell, changes, openOwn, type } from './keeping-helpers.ts';
import { expect, settled, test } from './watched-page.ts';

test('a learning herd is asked about by keyboard, and the user’s own records stand as they were', async ({
  page,
}) => {
  await openOwn(page);
  await type(page, 0, 'Yard by the mill');
  await expect.poll(() => changes(page)).toBe(1);

  await page.evaluate(() => {
    location.hash = 'learning';
  });
  const question = page.locator('[data-entry="frog_onset"]');
  await expect(question).toContainText('open one of the herds above');
  await settled(page);
  const first = page.getByRole('button', { name: 'Open the first herd' });
  await first.focus();
  await page.keyboard.press('Enter');
  await expect(page.getByTestId('loaded')).toContainText('First learning herd (invented horses) 60 horses');
  await settled(page);
  await expect(page.getByText('Open now: The first herd.')).toBeVisible();

  await expect(question).not.toContainText('1.20');
  await question.getByRole('textbox').focus();
  await page.keyboard.type('1.0');
  await page.keyboard.press('Enter');
  await expect(question).toContainText('Not yet: 1.00 is too low by 0.20');
  await expect(question.getByRole('row', { name: /The truth put into the herd/ })).toContainText('1.20');

  // Another page and back: what was answered is still there.
  await page.evaluate(() => {
    location.hash = 'growth';
  });
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('Growth');
  await page.evaluate(() => {
    location.hash = 'learning';
  });
  await expect(page.locator('[data-entry="frog_onset"]')).toContainText('Not yet: 1.00');

  await page.getByRole('button', { name: 'Back to your records' }).click();
  await expect(page.getByTestId('loaded')).toContainText('2 horses');
  await page.evaluate(() => {
    location.hash = 'records';
  });
  await expect(cell(page, 0)).toHaveText('Yard by the mill');
  await expect.poll(() => changes(page)).toBe(1);
});
