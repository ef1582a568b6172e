import type { Locator, Page } from '@playwright/test';
import { practiceTables, spreadsheetExport } from '../fixtures/walk-files.ts';
import { drop, expect, settled, test } from './watched-page.ts';

/** Three people who were told nothing, from their file to an answer: docs/walks.md says where they once hesitated. */

const contents = (page: Page, id: string) => page.locator(`nav.contents a[href="#${id}"]`);
const readRows = (page: Page) => page.getByRole('button', { name: /^Read the rows/ }).first();
const openRecords = (page: Page) => page.locator('.masthead label', { hasText: 'Open visit records' });
const NARROW = { width: 820, height: 1180 };
/** px down the page. */
const topOf = async (of: Locator) => Math.round((await of.boundingBox())?.y ?? Number.NaN);
const answers = (page: Page) => page.locator('[data-kind="findings"]').first();

/** The first page, as soon as the demo herd stands: nobody waits for all of it. */
async function arrive(page: Page): Promise<void> {
  await page.goto('/');
  await expect(page.getByTestId('loaded')).toContainText('120 horses', { timeout: 60_000 });
}

async function turnTo(page: Page, id: string): Promise<void> {
  await contents(page, id).click();
  await expect(contents(page, id)).toHaveAttribute('aria-current', 'page');
  await settled(page);
}

test('a practitioner’s spreadsheet, in inches and with all that stands around it, answers in inches', async ({
  page,
}) => {
  await arrive(page);
  await expect(page.getByTestId('welcome')).toContainText('This is an invented herd');
  await expect(page.getByRole('heading', { name: 'Needs attention this week' })).toBeVisible();
  await drop(page, [spreadsheetExport(';')]);
  const mapping = page.getByTestId('mapping');
  await expect(mapping).toContainText('Above the header stands “Trim book 2024 to 2026”');
  await expect(mapping.getByRole('radio', { name: 'Month first' })).toBeChecked();
  await expect(mapping.getByLabel('Unit of Toe (in)')).toHaveValue('in');
  // One row is one foot: nothing is asked about feet.
  await expect(mapping.getByRole('columnheader', { name: 'Foot' })).toHaveCount(0);
  await readRows(page).click();
  const aside = page.getByRole('grid', { name: 'Rows set aside' });
  await expect(page.getByTestId('identity')).toHaveText('2,859 rows read = 2,854 admitted + 5 set aside.');
  await expect(aside).toContainText('differs from line 2120 about this foot on this day');
  await expect(aside).toContainText('visit date is missing');
  await page.getByRole('button', { name: 'To the pages' }).click();
  await expect(page.getByTestId('loaded')).toContainText('trim book.csv 40 horses');
  expect(await page.evaluate(() => scrollY), 'a new place begins at its top').toBe(0);
  await expect(page.getByTestId('welcome')).toHaveCount(0);
  // One row: the note on millimetres wraps under the choice of inches.
  await expect.poll(() => topOf(openRecords(page))).toBeLessThan(40);
  await turnTo(page, 'growth');
  await expect(answers(page)).toContainText(/averaged 0\.\d+\sin per\s30/);
  await expect(answers(page)).toContainText('40 horses');
});

test('a vet practice’s tables, three years and their patients, are mapped once and answered as cases', async ({
  page,
}) => {
  await page.setViewportSize(NARROW);
  await arrive(page);
  await drop(page, practiceTables());
  const mapping = page.getByTestId('mapping');
  await expect(mapping.getByRole('cell', { name: /grade 1/ }).first()).toBeVisible();
  await expect(mapping).toContainText('The same columns as hoof_exam_2024.parquet');
  await mapping.getByLabel('Read sep_wl as').first().selectOption({ label: 'Separation' });
  await mapping.getByLabel('Read species_breed as').selectOption({ label: 'Breed' });
  await expect(mapping.getByLabel('What patients.parquet holds')).toHaveValue('horses');
  await readRows(page).click();
  await expect(page.getByTestId('identity')).toContainText('2,898 rows read');
  await page.getByRole('button', { name: 'To the pages' }).click();
  const mm = page.locator('.masthead').getByText('mm', { exact: true });
  await expect.poll(async () => (await topOf(mm)) - (await topOf(openRecords(page)))).toBeLessThan(20);
  await turnTo(page, 'case-trends');
  await page.getByLabel('Problem', { exact: true }).selectOption({ label: 'Separation' });
  await settled(page);
  // What was chosen in the first file held for the others: the latest two years have cases to compare.
  await expect(answers(page)).toContainText(
    /there were [\d.]+ new cases of separation .* from \d+ horses .* in the twelve months before, [\d.]+/,
  );
  await expect(page.getByTestId('loaded')).toContainText('40 horses');
  // The whole list is in view: nothing of it has to be pushed sideways.
  const list = page.locator('[data-entry="case_list"] .table-scroll');
  await expect.poll(() => list.evaluate((box) => box.scrollWidth - box.clientWidth)).toBeLessThanOrEqual(0);
});

test('a student asks whether long intervals go with separation, and sees where plain counting leans', async ({
  page,
}) => {
  await page.setViewportSize(NARROW);
  await arrive(page);
  await contents(page, 'learning').click();
  await page.getByRole('button', { name: 'Open the first herd' }).click();
  await expect(page.getByTestId('loaded')).toContainText('First learning herd');
  await settled(page);
  const question = page.locator('[data-entry="waiting_ratio"]');
  await question.getByLabel(/^Your answer/).fill('2.2');
  await question.getByRole('button', { name: 'Check' }).click();
  await expect(question.locator('.is-right')).toBeVisible();
  await expect(question).toContainText('The truth put into the herd');
  await expect(question).toContainText('the wet yards');
  await turnTo(page, 'interval');
  await expect(answers(page)).toContainText('Three ways of comparing, as exponents: crude');
  await expect(page.getByTestId('page')).toContainText('None of them shows what waiting does');
  await expect(page.getByTestId('page')).toContainText(
    'The last, within-horse, compares each horse with itself',
  );
});
