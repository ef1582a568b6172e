import { existsSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Locator, Page } from '@playwright/test';
import { writeBenchmark } from '../../data/benchmark-files.ts';
import { violations } from './axe.ts';
import { drop, expect, openPage, settled, test } from './watched-page.ts';

test.use({ permissions: ['clipboard-read', 'clipboard-write'] });

const gridOf = (page: Page): Locator => page.getByRole('grid', { name: 'Visits, one row a foot' });

async function openRecords(page: Page): Promise<Locator> {
  await page.goto('/#records');
  const grid = gridOf(page);
  await expect(grid.locator('[data-row="0"]')).toContainText('H001', { timeout: 60_000 });
  return grid;
}

/**
 * Where a column stands, by the start of its heading: waited for, as a new one comes after the word that it was made, and
 * brought into view, as only cells in view are drawn.
 */
async function columnAt(grid: Locator, heading: string): Promise<number> {
  let at = -1;
  await expect(async () => {
    const headings = await grid.getByRole('columnheader').allTextContents();
    at = headings.findIndex((text) => text.startsWith(heading));
    expect(at, `a column ${heading} among ${headings.join(' | ')}`).toBeGreaterThanOrEqual(0);
  }).toPass({ timeout: 45_000 });
  await bringIntoView(grid, at);
  return at;
}

const bringIntoView = (grid: Locator, column: number): Promise<void> =>
  cell(grid, -1, column).scrollIntoViewIfNeeded();

const cell = (grid: Locator, row: number, column: number): Locator =>
  grid.locator(`[data-row="${row}"] [data-column="${column}"]`);

/** Goes to a cell of the first row by keyboard alone. */
async function goTo(page: Page, grid: Locator, column: number): Promise<void> {
  await grid.focus();
  await page.keyboard.press('Control+Home');
  for (let k = 0; k < column; k += 1) await page.keyboard.press('ArrowRight');
}

test('a cell is typed in with its unit, refused with the reason, undone and redone', async ({ page }) => {
  const grid = await openRecords(page);
  const toe = await columnAt(grid, 'Toe length before');
  const first = cell(grid, 0, toe);
  const before = (await first.textContent()) ?? '';
  await goTo(page, grid, toe);
  await page.keyboard.type('3 1/4 in');
  await page.keyboard.press('Enter');
  await expect(first).toHaveText('82.6');
  await page.keyboard.press('ArrowUp');
  await page.keyboard.type('9000');
  await page.keyboard.press('Enter');
  await expect(page.locator('.draft-refusal')).toContainText('outside 30 to 180 mm: 9000 mm');
  await page.keyboard.press('Escape');
  await expect(first).toHaveText('82.6');
  await page.keyboard.press('Control+z');
  await expect(first).toHaveText(before);
  await expect(page.getByTestId('outcome')).toContainText('taken back');
  await page.keyboard.press('Control+y');
  await expect(first).toHaveText('82.6');
  await page.getByRole('button', { name: /^Changes/ }).click();
  const history = page.getByTestId('history-panel');
  await expect(history).toContainText('left fore: Toe length before the trim from 94 mm to 82.55 mm');
  const downloading = page.waitForEvent('download');
  await history.getByRole('button', { name: 'Save as CSV' }).click();
  const csv = readFileSync(await (await downloading).path(), 'utf8');
  expect(csv).toContain('toe_before_mm,94,82.55,mm');
  // One by one: the first change of all is the last in the list.
  await history.getByRole('button', { name: 'Make it again' }).click();
  await expect(first).toHaveText(before);
});

test('200 × 6 cells are pasted, and the three bad ones are explained, no other', async ({ page }) => {
  const grid = await openRecords(page);
  const toe = await columnAt(grid, 'Toe length before');
  const rows = Array.from({ length: 200 }, (_, k) => [
    `${81 + (k % 7)}`,
    `${76 + (k % 7)} mm`,
    '4.1 cm',
    '1 3/8 in',
    '50',
    '51,5',
  ]);
  rows[10]![0] = 'many';
  rows[50]![4] = '500';
  rows[199]![2] = '3/7 in';
  for (const row of rows) row[5] = '51.5';
  await page.evaluate(
    (text) => navigator.clipboard.writeText(text),
    rows.map((row) => row.join('\t')).join('\n'),
  );
  await goTo(page, grid, toe);
  await page.keyboard.press('Control+v');
  const outcome = page.getByTestId('outcome');
  await expect(outcome).toContainText('3 not set.');
  const told = outcome.locator('tbody tr');
  await expect(told).toHaveCount(3);
  const words = await told.allTextContents();
  expect(words[0]).toMatch(/^11 .*Toe length before the trim.*many.*not a length.*30 to 180 mm/);
  expect(words[1]).toMatch(/^51 .*Toe angle before the trim.*500.*outside 20 to 85 degrees/);
  expect(words[2]).toMatch(/^200 .*Heel length before the trim.*3\/7 in.*not a fraction of an inch/);
  await bringIntoView(grid, toe + 3);
  await expect(cell(grid, 0, toe + 2)).toHaveText('41.0');
  await expect(cell(grid, 0, toe + 3)).toHaveText('34.9');
  // All that was set is one action.
  await page.getByRole('button', { name: 'Undo' }).click();
  await expect(cell(grid, 0, toe + 2)).not.toHaveText('41.0');
});

test('a range is copied and pasted back without a change', async ({ page }) => {
  const grid = await openRecords(page);
  const toe = await columnAt(grid, 'Toe length before');
  await goTo(page, grid, toe);
  for (const key of ['ArrowRight', 'ArrowDown', 'ArrowDown']) await page.keyboard.press(`Shift+${key}`);
  await page.keyboard.press('Control+c');
  await expect(page.locator('.grid-said')).toHaveText('Copied 3 rows of 2 columns');
  const copied = await page.evaluate(() => navigator.clipboard.readText());
  expect(copied.split('\n').map((line) => line.split('\t').length)).toEqual([2, 2, 2]);
  await page.keyboard.press('Control+v');
  await expect(page.getByTestId('outcome')).toContainText('0 cells set, 6 stood so already.');
  await expect(page.getByRole('button', { name: 'Changes', exact: true })).toBeVisible();
});

test('a visit is added at four feet, with the last values in sight and a fault beside its field', async ({
  page,
}) => {
  const grid = await openRecords(page);
  await page.getByRole('button', { name: 'Add a visit' }).click();
  const form = page.getByTestId('add-visit');
  await form.getByLabel('Horse', { exact: true }).fill('H001');
  const toe = form.getByLabel('Toe length before the trim (mm), left fore');
  await expect(toe).toHaveAttribute('placeholder', /\d/);
  await form.getByLabel('Visit date').fill('2026-11-20');
  for (const foot of ['left fore', 'right fore', 'left hind', 'right hind']) {
    await form.getByLabel(`Toe length before the trim (mm), ${foot}`).fill('3 3/8 in');
    await form.getByLabel(`Separation, ${foot}`).selectOption('1');
  }
  await form.getByLabel('Toe length after the trim (mm), right hind').fill('300');
  await form.getByRole('button', { name: 'Add the visit' }).click();
  await expect(form.getByTestId('visit-faults')).toContainText('One field needs another value');
  const faulty = form.getByLabel('Toe length after the trim (mm), right hind');
  await expect(faulty).toHaveAttribute('aria-invalid', 'true');
  await expect(faulty).toHaveAccessibleDescription(/outside 30 to 180 mm/);
  expect(await violations(page, 'all', '.side-panel')).toEqual([]);
  await faulty.fill('80');
  await form.getByRole('button', { name: 'Add the visit' }).click();
  await expect(page.getByTestId('outcome')).toContainText(
    'The visit of H001 on 2026-11-20 was added: 4 feet.',
  );
  await expect(page.getByTestId('sheet-count')).toContainText('11,835 rows');
  await expect(grid).toContainText('2026-11-20');
  // The same visit once more is refused, not doubled.
  await form.getByLabel('Horse', { exact: true }).fill('H001');
  await form.getByLabel('Toe length before the trim (mm), left fore').fill('90');
  await form.getByRole('button', { name: 'Add the visit' }).click();
  await expect(form.getByTestId('visit-faults')).toBeVisible();
  await expect(form).toContainText('already');
});

test('rows are struck with a reason and counted again by undo', async ({ page }) => {
  const grid = await openRecords(page);
  await goTo(page, grid, 0);
  await page.keyboard.press('Shift+ArrowDown');
  await page.getByRole('button', { name: 'Strike rows' }).click();
  const panel = page.getByTestId('strike-panel');
  await expect(panel.getByTestId('strike-what')).toContainText('Rows 1 to 2');
  await expect(panel.getByRole('button', { name: 'Strike' })).toBeDisabled();
  await panel.getByLabel('Why').fill('entered twice');
  await panel.getByRole('button', { name: 'Strike' }).click();
  await expect(page.getByTestId('sheet-count')).toContainText('11,829 rows');
  await page.getByRole('button', { name: /^Changes/ }).click();
  await expect(page.getByTestId('history-panel')).toContainText('Reason: entered twice');
  await page.getByRole('button', { name: 'Undo' }).click();
  await expect(page.getByTestId('sheet-count')).toContainText('11,831 rows');
});

test('a column tells what it is like, filters, is fixed and widened, and stays so', async ({ page }) => {
  const grid = await openRecords(page);
  const ground = await columnAt(grid, 'Ground');
  await goTo(page, grid, ground);
  await page.keyboard.press('ArrowUp');
  await page.keyboard.press('Alt+ArrowDown');
  const panel = page.getByTestId('column-panel');
  await expect(panel.getByTestId('column-summary')).toContainText('Missing');
  expect(await violations(page, 'all', '.side-panel')).toEqual([]);
  await panel.getByRole('button', { name: 'rocky' }).click();
  const count = page.getByTestId('sheet-count');
  await expect(count).not.toContainText('11,831');
  await expect(page.getByRole('list', { name: 'Filters' })).toContainText('Ground is rocky');
  await expect(cell(grid, 0, ground)).toHaveText('rocky');
  await panel.getByRole('button', { name: 'Keep it in view' }).click();
  await expect.poll(() => columnAt(grid, 'Ground')).toBe(3);
  await page.getByRole('button', { name: 'Take the filter away: Ground is rocky' }).click();
  await expect(count).toContainText('11,831');
  const width = () => cell(grid, -1, 3).evaluate((element) => element.getBoundingClientRect().width);
  const before = await width();
  await panel.getByRole('button', { name: 'Wider' }).click();
  await expect.poll(width).not.toBe(before);
  const after = await width();
  // Another place and back: the arrangement is kept.
  await page.getByRole('link', { name: /^Growth/ }).click();
  await settled(page);
  await page.getByRole('link', { name: /^Records/ }).click();
  await expect(cell(grid, 0, 3)).not.toBeEmpty();
  await expect.poll(() => columnAt(grid, 'Ground')).toBe(3);
  await expect.poll(width).toBe(after);
});

test('a row set aside is mended over its faulty cell and counted as admitted', async ({ page }) => {
  await openPage(page, 'caseload');
  const bytes = readFileSync(new URL('../fixtures/messy-export.csv', import.meta.url));
  await drop(page, [{ name: 'messy-export.csv', type: 'text/csv', bytes }]);
  await page
    .getByRole('button', { name: /^Read the rows/ })
    .first()
    .click();
  const identity = page.getByTestId('identity');
  await expect(identity).toHaveText('400 rows read = 392 admitted + 8 set aside.');
  const grid = page.getByRole('grid', { name: 'Rows set aside' });
  const row = grid.locator('[data-row="0"]');
  await expect(row).toContainText('no such day in the calendar');
  expect(await violations(page, 'all')).toEqual([]);
  await page.setViewportSize({ width: 320, height: 640 });
  expect(await violations(page, 'narrow')).toEqual([]);
  await page.setViewportSize({ width: 1280, height: 900 });
  const date = row.locator('.is-faulty');
  await expect(date).toHaveText('31/02/2026');
  await date.dblclick();
  await expect(page.getByTestId('mend-reason')).toHaveText(
    /no such day in the calendar: 31\/02\/2026.*Accepted: /,
  );
  await page.keyboard.type('2026-02-31');
  await page.keyboard.press('Enter');
  await expect(page.locator('.draft-refusal')).toContainText('no such day');
  await page.locator('.cell-editor').fill('2026-02-28');
  await page.keyboard.press('Enter');
  await expect(page.getByTestId('mend-said')).toHaveText('Line 53 of messy-export.csv was admitted.');
  await expect(identity).toHaveText(
    '400 rows read = 393 admitted + 7 set aside (1 of those admitted were mended here).',
  );
  await expect(grid).toHaveAttribute('aria-rowcount', '8');
  await page.getByRole('button', { name: 'Undo' }).click();
  await expect(identity).toHaveText('400 rows read = 392 admitted + 8 set aside.');
});

test('a derived column is written with its error at its place, stands in the sheet and in a cohort', async ({
  page,
}) => {
  const grid = await openRecords(page);
  await page.getByRole('button', { name: 'Derived columns' }).click();
  const panel = page.getByTestId('derived-panel');
  await panel.getByRole('button', { name: 'Toe to heel' }).click();
  const editor = panel.getByRole('textbox', { name: 'What it is made of' });
  await expect(editor).toContainText('toe_after_mm / heel_after_mm');
  await editor.click();
  await page.keyboard.press('Control+a');
  await page.keyboard.type('toe_after_mm / heal_after_mm');
  await page.keyboard.press('Escape');
  await expect(panel.getByTestId('expression-fault')).toContainText('there is no column heal_after_mm');
  await expect(panel.getByTestId('expression-fault')).toContainText('(letter 16)');
  await expect(panel.locator('.cm-lintRange-error')).toHaveText('heal_after_mm');
  await expect(panel.getByRole('button', { name: 'Add it' })).toBeDisabled();
  expect(await violations(page, 'all', '.side-panel')).toEqual([]);
  // Completion offers the columns by name.
  await editor.click();
  await page.keyboard.press('Control+a');
  await page.keyboard.type('toe_after_mm / heel_af');
  await expect(page.locator('.cm-tooltip-autocomplete')).toContainText('heel_after_mm');
  await page.waitForTimeout(150);
  await page.keyboard.press('Enter');
  await expect(editor).toHaveText('toe_after_mm / heel_after_mm');
  await panel.getByRole('button', { name: 'Add it' }).click();
  await expect(page.getByTestId('outcome')).toContainText('Toe to heel can be used as toe_to_heel');
  const at = await columnAt(grid, 'Toe to heel');
  const [after, heel] = [await columnAt(grid, 'Toe length after'), await columnAt(grid, 'Heel length after')];
  // The heading stands before its values are worked out.
  await bringIntoView(grid, at);
  await expect(cell(grid, 0, at)).toHaveText(/\d/);
  const number = async (column: number) => {
    await bringIntoView(grid, column);
    return Number(await cell(grid, 0, column).textContent());
  };
  await expect(async () => {
    expect(await number(at)).toBeCloseTo((await number(after)) / (await number(heel)), 1);
  }).toPass({ timeout: 45_000 });

  // A page can ask for it by name, of visits and of the cycles that begin with them.
  const text = [
    '---\ntitle: Ratios\n---\n\n```query ratios\nSELECT horse_id, round(toe_to_heel, 2) AS ratio FROM foot_visit',
    "WHERE horse_id = 'H001' ORDER BY visit_date, foot LIMIT 1\n```\n\n```table shown\nof: ratios\n```\n\n",
    '```query of_cycles\nSELECT count(toe_to_heel) AS with_ratio FROM trim_cycle\n```\n\n```table cycles\nof: of_cycles\n```\n',
  ].join('\n');
  const ratio = (await number(at)).toFixed(2);
  await drop(page, [{ name: 'ratios.md', type: 'text/markdown', bytes: Buffer.from(text) }]);
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('Ratios');
  await settled(page);
  await expect(page.locator('[data-status="failed"], [data-status="blocked"]')).toHaveCount(0);
  await expect(page.locator('[data-entry="shown"]')).toContainText(ratio);
  await expect(page.locator('[data-entry="cycles"]')).toContainText(/[1-9]\d?,\d{3}/);
  await page.getByRole('link', { name: /^Records/ }).click();
  await expect(grid.locator('[data-row="0"]')).toContainText('H001');

  await page.getByRole('button', { name: 'Narrow the herd' }).click();
  await page.getByRole('combobox', { name: 'Column' }).selectOption({ label: 'Toe to heel' });
  const form = page.locator('.cohort .filter-form');
  await form.getByRole('textbox', { name: 'Value to compare with' }).fill('2.5');
  await form.getByRole('button', { name: 'Narrow' }).click();
  await expect(page.getByTestId('cohort')).toContainText('toe to heel is at least 2.5');
  await expect(page.getByTestId('cohort')).not.toContainText('11,351 trim cycles');
});

test('a cohort by what a foot has had is saved by name and taken up again', async ({ page }) => {
  await openPage(page, 'caseload');
  await page.getByRole('button', { name: 'Narrow the herd' }).click();
  const had = page.getByRole('group', { name: 'What the foot has had' });
  await had.getByRole('combobox', { name: 'Problem' }).selectOption('crack');
  await had.getByRole('button', { name: 'Narrow' }).click();
  const cohort = page.getByTestId('cohort');
  await expect(cohort).toContainText('feet that had crack before');
  const narrowed = await cohort.textContent();
  const saved = page.getByRole('group', { name: 'Saved cohorts' });
  await saved.getByRole('textbox', { name: 'Name for this cohort' }).fill('cracked once');
  await saved.getByRole('button', { name: 'Save this one' }).click();
  await expect(saved.getByRole('button', { name: 'cracked once', exact: true })).toBeVisible();
  expect(await violations(page, 'all', '.cohort')).toEqual([]);
  await page.getByRole('button', { name: 'Whole herd' }).click();
  await expect(cohort).toContainText('120 of 120 horses');
  await saved.getByRole('button', { name: 'cracked once', exact: true }).click();
  await expect(cohort).toHaveText(narrowed ?? '');
  await page.getByRole('button', { name: 'Write a condition in SQL' }).click();
  const sql = page.getByRole('textbox', { name: 'Condition in SQL' });
  await sql.click();
  await page.keyboard.type("terrain = 'soft'");
  await page.keyboard.press('Escape');
  const group = page.getByRole('group', { name: 'Condition in SQL, over the columns of a visit' });
  await group.getByRole('button', { name: 'Narrow' }).click();
  await expect(cohort).toContainText("where terrain = 'soft'");
  await settled(page);
  await expect(page.locator('[data-status="failed"], [data-status="blocked"]')).toHaveCount(0);
});

test('somebody without records begins with a blank sheet and an empty table', async ({ page }) => {
  await openRecords(page);
  await page.getByRole('button', { name: 'Start from nothing' }).click();
  const start = page.getByTestId('start-panel');
  const downloading = page.waitForEvent('download');
  await start.getByRole('button', { name: 'Save an empty table (CSV)' }).click();
  const table = readFileSync(await (await downloading).path(), 'utf8');
  expect(table).toMatch(/^horse_id,.*visit_date/);
  expect(table.trim().split('\n')).toHaveLength(1);
  await start.getByRole('button', { name: 'Begin a blank record' }).click();
  const form = page.getByTestId('add-visit');
  await form.getByLabel('Horse', { exact: true }).fill('Bramble');
  await form.getByLabel('Visit date').fill('2026-11-20');
  await form.getByLabel('Toe length after the trim (mm), left fore').fill('8.1 cm');
  await form.getByRole('button', { name: 'Add the visit' }).click();
  await expect(page.getByTestId('outcome')).toContainText(
    'The visit of Bramble on 2026-11-20 was added: 1 foot.',
  );
  await expect(gridOf(page)).toContainText('Bramble');
  await columnAt(gridOf(page), 'Toe length after');
  await expect(gridOf(page)).toContainText('81.0');
  await expect(page.getByTestId('sheet-count')).toContainText('1 row');
});

test('the sheet keeps WCAG 2.2 AA as far as a tool can tell, and fits a narrow window, light and dark', async ({
  page,
}) => {
  // A grid has a thousand cells to look at: on a loaded machine that takes its time.
  test.setTimeout(300_000);
  await page.setViewportSize({ width: 820, height: 1000 });
  const grid = await openRecords(page);
  for (const colorScheme of ['light', 'dark'] as const) {
    await page.emulateMedia({ colorScheme });
    expect(await violations(page, 'all'), colorScheme).toEqual([]);
    for (const name of ['Columns', 'Strike rows', 'Changes', 'Derived columns', 'Start from nothing']) {
      const button = page.locator('.records-head').getByRole('button', { name, exact: true });
      await button.click();
      await expect(page.locator('.side-panel')).toBeVisible();
      expect(await violations(page, 'all', '.side-panel'), `${name}, ${colorScheme}`).toEqual([]);
      await button.click();
    }
    await goTo(page, grid, await columnAt(grid, 'Ground'));
    await page.keyboard.press('F2');
    await expect(page.getByRole('listbox')).toContainText('rocky');
    expect(await violations(page, 'all', '.draft-note'), colorScheme).toEqual([]);
    expect(await violations(page, 'all', '[data-row="0"]'), colorScheme).toEqual([]);
    await page.keyboard.press('Escape');
  }
  await expect.poll(() => page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(820);
});

/**
 * A million rows want a machine to themselves and some minutes: `GROWOUT_LARGE=1000000` asks for them. Otherwise a
 * smaller herd stands in, in which the same path is gone through.
 */
const LARGE_ROWS = Number(process.env.GROWOUT_LARGE ?? 60_000);

test(`row ${(LARGE_ROWS * 0.9).toLocaleString('en-GB')} of a large herd is scrolled to and changed`, async ({
  page,
}) => {
  test.setTimeout(900_000);
  const folder = join(tmpdir(), `growout-large-${LARGE_ROWS}`);
  const visits = join(folder, 'visits.parquet');
  if (!existsSync(visits)) await writeBenchmark(LARGE_ROWS, folder);
  await openRecords(page);
  await page.getByLabel('Open visit records').setInputFiles(visits);
  await expect(page.getByTestId('mapping')).toBeVisible({ timeout: 300_000 });
  await page
    .getByRole('button', { name: /^Read the rows/ })
    .first()
    .click();
  await expect(page.getByTestId('identity')).toContainText('0 set aside', { timeout: 600_000 });
  await page.getByRole('link', { name: /^Records/ }).click();
  const grid = gridOf(page);
  await expect(grid.locator('[data-row="0"] [data-column="0"]')).toHaveText(/^H/, { timeout: 120_000 });
  const wanted = Math.round(LARGE_ROWS * 0.9);
  // As a user would: the scroll bar for the way there, the arrows for the last of it.
  await grid.evaluate((element) => {
    element.scrollTop = (element.scrollHeight - element.clientHeight) * 0.9;
  });
  await expect(grid.locator('[role="row"][data-row]').nth(3).locator('[data-column="0"]')).toHaveText(/^H/);
  await page.getByLabel('Go to row').fill(String(wanted));
  await page.getByRole('button', { name: 'Go', exact: true }).click();
  const toe = await columnAt(grid, 'Toe length before');
  const target = cell(grid, wanted - 1, toe);
  await expect(target).toHaveText(/\d|–/);
  await target.click();
  await page.keyboard.type('101.5');
  await page.keyboard.press('Enter');
  await expect(target).toHaveText('101.5', { timeout: 60_000 });
  await page.keyboard.press('Control+End');
  const last = Number(await grid.getAttribute('aria-rowcount')) - 2;
  expect(last).toBeGreaterThanOrEqual(LARGE_ROWS - 1);
  await expect(cell(grid, last, 0)).toHaveText(/^H/);
  await page.getByRole('button', { name: 'Undo' }).click();
  await expect(page.getByTestId('outcome')).toContainText('taken back');
  if (process.env.CI) rmSync(folder, { recursive: true });
});
