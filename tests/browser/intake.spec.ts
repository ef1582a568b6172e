import { readFileSync } from 'node:fs';
import { drop, expect, openPage, settled, test } from './watched-page.ts';

const file = (path: string, type = 'text/csv') => ({
  name: path.split('/').at(-1) ?? path,
  type,
  bytes: readFileSync(new URL(`../../${path}`, import.meta.url)),
});

test('a messy export goes from drop to plots, and every row is accounted for', async ({ page }) => {
  await openPage(page, 'growth');
  await drop(page, [file('tests/fixtures/messy-export.csv')]);
  const mapping = page.getByTestId('mapping');
  await expect(mapping).toContainText('messy-export.csv');
  await expect(mapping).toContainText(/WINDOWS-1252/i);
  await expect(mapping).toContainText('semicolon');
  await expect(mapping.getByRole('combobox', { name: 'Unit of Toe (in)' })).toHaveValue('in');
  await mapping
    .getByRole('button', { name: /^Read the rows/ })
    .first()
    .click();
  const identity = page.getByTestId('identity');
  await expect(identity).toContainText('rows read');
  const [read, admitted, aside] = ((await identity.textContent()) ?? '')
    .match(/[\d,]+/g)!
    .map((n) => Number(n.replace(',', '')));
  expect(read).toBe(admitted! + aside!);
  expect(aside).toBeGreaterThan(0);
  await expect(page.getByRole('grid', { name: 'Rows set aside' })).toContainText('messy-export.csv');
  await page.getByRole('button', { name: 'To the pages' }).click();
  await settled(page);
  await expect(page.getByTestId('loaded')).toContainText('messy-export.csv');
  await expect(page.locator('[data-status="failed"], [data-status="blocked"]')).toHaveCount(0);
  await expect(page.locator('[data-entry="answers"]')).toContainText('horses');
  await expect(page.locator('[data-kind="chart"] svg')).not.toHaveCount(0);
});

test('Parquet reads the same herd as CSV, with the network closed', async ({ page }) => {
  await openPage(page, 'growth');
  const fromCsv = await page.locator('[data-entry="answers"] li').first().textContent();
  await drop(page, [
    file('data/demo-visits.parquet', 'application/octet-stream'),
    file('data/demo-horses.parquet', 'application/octet-stream'),
  ]);
  await page
    .getByRole('button', { name: /^Read the rows/ })
    .first()
    .click();
  await expect(page.getByTestId('identity')).toContainText('0 set aside');
  await page.getByRole('button', { name: 'To the pages' }).click();
  await settled(page);
  await expect(page.locator('[data-entry="answers"] li').first()).toHaveText(fromCsv ?? '');
});

test('four feet in a row, in centimetres; a mapping once confirmed is remembered', async ({ page }) => {
  await openPage(page, 'measurement');
  await drop(page, [file('tests/fixtures/wide-export.csv')]);
  await page.getByRole('combobox', { name: 'Read Comments as' }).selectOption({ label: 'not used' });
  await page
    .getByRole('button', { name: /^Read the rows/ })
    .first()
    .click();
  await expect(page.getByTestId('identity')).toContainText('rows read');
  await expect(page.getByTestId('records')).toContainText('wide-export.csv');
  await drop(page, [file('tests/fixtures/wide-export.csv')]);
  await expect(page.getByTestId('mapping')).toContainText('as you chose before');
  await expect(page.getByRole('combobox', { name: 'Read Comments as' })).toHaveValue('');
});

const parquet = readFileSync(new URL('../../data/demo-visits.parquet', import.meta.url));
const REFUSED: readonly { readonly what: string; readonly name: string; readonly bytes: Buffer }[] = [
  { what: 'a truncated Parquet', name: 'cut.parquet', bytes: parquet.subarray(0, parquet.length / 2) },
  { what: 'a picture', name: 'photo.csv', bytes: Buffer.from('89504e470d0a1a0a0000000d49484452', 'hex') },
  { what: 'an empty file', name: 'empty.csv', bytes: Buffer.alloc(0) },
  { what: 'a header without rows', name: 'header.csv', bytes: Buffer.from('horse_id,visit_date,foot\n') },
  { what: 'two columns of one name', name: 'twice.csv', bytes: Buffer.from('horse,foot,foot\nA,LF,LF\n') },
];
test('what cannot be read gets one sentence each and changes nothing', async ({ page }) => {
  await openPage(page, 'caseload');
  const before = await page.getByTestId('loaded').textContent();
  for (const { what, name, bytes } of REFUSED) {
    await test.step(what, async () => {
      await drop(page, [{ name, type: '', bytes }]);
      await expect(page.getByTestId('trouble')).toContainText(name);
      await expect(page.getByTestId('loaded')).toHaveText(before ?? '');
      await expect(page.locator('[data-kind="chart"] svg').first()).toBeVisible();
    });
  }
});
