import { readFile } from 'node:fs/promises';
import type { Page } from '@playwright/test';
import { unzipSync } from 'fflate';
import { violations } from './axe.ts';
import { begin, cell, changes, keptNames, openOwn, records, type } from './keeping-helpers.ts';
import { drop, expect, settled, test } from './watched-page.ts';

const notice = (page: Page) => page.getByTestId('keeping-notice');

/** How much the browser may keep; without a size, as much as the disk has. It looks again only when room runs short. */
async function setRoom(page: Page, baseURL: string | undefined, quotaSize?: number): Promise<void> {
  const session = await page.context().newCDPSession(page);
  const { origin } = new URL(baseURL ?? '');
  await session.send('Storage.overrideQuotaForOrigin', quotaSize ? { origin, quotaSize } : { origin });
}

async function savedStudy(page: Page): Promise<Buffer> {
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Save a study file' }).first().click(),
  ]);
  expect(download.suggestedFilename()).toMatch(/^study-\d{4}-\d{2}-\d{2}\.growout$/);
  return readFile(await download.path());
}

const studyFile = (bytes: Buffer, name = 'study.growout') => ({ name, type: 'application/zip', bytes });

async function openPanel(page: Page): Promise<void> {
  await page.getByRole('button', { name: /^Where your work lies/ }).click();
}

test('a reload finds records, changes, cohorts, derived columns and pages', async ({ page }) => {
  await openOwn(page);
  await type(page, 0, 'new yard');
  await expect(cell(page, 0)).toHaveText('new yard');

  await page.getByRole('button', { name: 'Narrow the herd' }).click();
  await page.getByRole('checkbox', { name: /^fore/ }).check();
  await expect(page.getByTestId('cohort')).toContainText('fore');
  await page.getByRole('textbox', { name: 'Name for this cohort' }).fill('front feet');
  await page.getByRole('button', { name: 'Save this one' }).click();
  await expect(page.getByRole('button', { name: 'front feet', exact: true })).toBeVisible();

  await page.getByRole('button', { name: 'Derived columns' }).click();
  const panel = page.getByTestId('derived-panel');
  await panel.getByRole('button', { name: 'Toe to heel' }).click();
  await panel.getByRole('button', { name: 'Add it' }).click();
  await expect(page.getByRole('columnheader', { name: /^Toe to heel/ })).toHaveCount(1);

  await page.getByRole('button', { name: 'New page' }).click();
  await expect(page).toHaveURL(/#own-/);
  const address = page.url();
  await page.reload();
  await expect(page.getByTestId('loaded')).toContainText('round.csv 2 horses', { timeout: 60_000 });
  await expect(page).toHaveURL(address);
  await expect(page.getByTestId('page')).toBeVisible();

  await page.getByRole('link', { name: /^Records/ }).click();
  await expect(cell(page, 0)).toHaveText('new yard');
  await expect.poll(() => changes(page)).toBe(1);
  await expect(page.getByRole('columnheader', { name: /^Toe to heel/ })).toHaveCount(1);
  await page.getByRole('button', { name: 'Narrow the herd' }).click();
  await page.getByRole('button', { name: 'front feet', exact: true }).click();
  await expect(page.getByTestId('cohort')).toContainText('fore');
});

test('what was chosen on a page stays chosen', async ({ page }) => {
  await begin(page, '/#recurrence');
  const choice = page.locator('[data-entry="problem"] select');
  await choice.selectOption({ label: 'Crack' });
  const chosen = await choice.inputValue();
  await settled(page);
  await page.reload();
  await expect(choice).toHaveValue(chosen, { timeout: 60_000 });
});

test('the demo herd can be looked at, and the way back leads to one’s own records', async ({ page }) => {
  await openOwn(page);
  await page.getByRole('button', { name: 'Back to the demo herd' }).click();
  await expect(page.getByTestId('loaded')).toContainText('Demo herd');
  await type(page, 0, 'nowhere');
  await expect(notice(page)).toContainText('last as long as this tab');
  await page.getByRole('button', { name: 'Back to your records' }).click();
  await expect(page.getByTestId('loaded')).toContainText('round.csv');
  await expect.poll(() => changes(page)).toBe(0);
  await expect.poll(() => keptNames(page)).toEqual([]);
});

test('a newer export takes the changes over and shows those that no longer fit', async ({ page }) => {
  await openOwn(page);
  await type(page, 0, 'new yard');
  await expect(cell(page, 0)).toHaveText('new yard');
  await type(page, 1, 'other yard');
  await expect(cell(page, 1)).toHaveText('other yard');
  const newer = records();
  const text = newer.bytes.toString().replace('Ada,yard-0,2025-01-06,RF', 'Ada,moved,2025-01-06,RF');
  await drop(page, [{ ...newer, bytes: Buffer.from(text) }]);
  await page.getByRole('button', { name: 'Read as a newer export, with your 2 changes' }).click();
  await expect(page.getByTestId('trouble')).toContainText('1 of your changes does not fit these rows');
  await page.getByRole('button', { name: 'To the pages' }).click();
  await expect(cell(page, 0)).toHaveText('new yard');
  await page.reload();
  await expect(cell(page, 0)).toHaveText('new yard');
  await expect(cell(page, 1)).toHaveText('moved');
  await expect.poll(() => changes(page)).toBe(2);
  await page.getByRole('button', { name: /^Changes/ }).click();
  await expect(page.getByTestId('conflicts')).toContainText('other yard');
});

test('two files of one name are kept apart', async ({ page }) => {
  await openOwn(page);
  const more = records();
  const later = more.bytes.toString().replaceAll('2025-', '2024-');
  await drop(page, [{ ...more, bytes: Buffer.from(later) }]);
  await page.getByRole('button', { name: 'Read the rows together with what is open' }).click();
  await expect(page.getByTestId('identity')).toContainText('80 rows read = 80 admitted');
  await page.reload();
  await expect(page.getByTestId('loaded')).toContainText('round.csv, round.csv (2) 2 horses, 20 visits', {
    timeout: 60_000,
  });
});

test('kept records are not replaced unasked', async ({ page }) => {
  await openOwn(page);
  await type(page, 0, 'new yard');
  await expect(cell(page, 0)).toHaveText('new yard');
  await drop(page, [records('other.csv')]);
  await page.getByRole('button', { name: 'Read the rows in place of what is kept' }).click();
  await expect(page.getByRole('alertdialog')).toContainText('1 file, 1 change');
  await page.getByRole('button', { name: 'Not yet' }).click();
  await expect.poll(() => keptNames(page)).toEqual(['new yard']);
});

test('two tabs: the second looks, takes over, and only one writes', async ({ page, context }) => {
  await openOwn(page);
  const second = await context.newPage();
  await second.goto('/#records');
  await expect(notice(second)).toContainText('open in another tab', { timeout: 60_000 });
  await expect(cell(second, 0)).toHaveText('yard-0');
  await expect(second.getByRole('button', { name: 'Add a visit' })).toBeDisabled();

  await type(page, 0, 'first tab');
  await expect(cell(page, 0)).toHaveText('first tab');
  await expect(notice(second)).toContainText('changed there');
  await second.getByRole('button', { name: 'Change things here instead' }).click();
  await expect(notice(second)).toHaveCount(0);
  await expect(cell(second, 0)).toHaveText('first tab');
  await type(second, 1, 'second tab');
  await expect(cell(second, 1)).toHaveText('second tab');

  await expect(notice(page)).toContainText('open in another tab');
  await type(page, 2, 'refused');
  await expect(cell(page, 2)).toHaveText('yard-0');
  await expect.poll(() => keptNames(page)).toEqual(['first tab', 'second tab']);

  await second.close();
  await expect(notice(page)).toHaveCount(0);
  await expect(cell(page, 1)).toHaveText('second tab');
  await type(page, 2, 'first again');
  await expect(cell(page, 2)).toHaveText('first again');
  await expect.poll(() => keptNames(page)).toEqual(['first tab', 'second tab', 'first again']);
});

test('on a full disk the change stands, is said not to be kept, and can be taken along', async ({
  page,
  baseURL,
}) => {
  await setRoom(page, baseURL, 300_000);
  await openOwn(page);
  await page.getByLabel('Reason for changes').fill('long '.repeat(100_000));
  await type(page, 0, 'no room');
  await expect(cell(page, 0)).toHaveText('no room');
  await expect(notice(page)).toContainText(
    'Not kept: 1 change to records. This machine gives Growout no more room',
  );
  await type(page, 1, 'none yet');
  await expect(notice(page)).toContainText('Not kept: 2 changes to records.');
  expect(await violations(page, 'all')).toEqual([]);
  await expect.poll(() => keptNames(page)).toEqual([]);
  const log = unzipSync(await savedStudy(page))['amendments.jsonl']!;
  expect(Buffer.from(log).toString()).toMatch(/no room[\s\S]*none yet/);

  await setRoom(page, baseURL);
  await page.getByRole('button', { name: 'Try again to keep them' }).click();
  await expect(notice(page)).toHaveCount(0);
  await page.reload();
  await expect(cell(page, 0)).toHaveText('no room', { timeout: 60_000 });
  await expect(cell(page, 1)).toHaveText('none yet');
});

test('records that find no room are open all the same, and said not to be kept', async ({
  page,
  baseURL,
}) => {
  await setRoom(page, baseURL, 300_000);
  await begin(page);
  const large = records();
  await drop(page, [{ ...large, bytes: Buffer.from(`${large.bytes}${'\n'.repeat(500_000)}`) }]);
  await page.getByRole('button', { name: 'Read the rows', exact: true }).click();
  await expect(page.getByTestId('identity')).toContainText('40 rows read');
  await expect(notice(page)).toContainText('round.csv');
  await page.getByRole('button', { name: 'To the pages' }).click();
  await type(page, 0, 'here only');
  await expect(cell(page, 0)).toHaveText('here only');
  await expect.poll(() => keptNames(page)).toEqual([]);
  await setRoom(page, baseURL);
  await page.getByRole('button', { name: 'Try again to keep them' }).click();
  await expect(notice(page)).toHaveCount(0);
  await page.reload();
  await expect(cell(page, 0)).toHaveText('here only', { timeout: 60_000 });
});

test('where the browser keeps nothing, work is said to be lost with the tab', async ({ page }) => {
  await page.addInitScript(() => Object.defineProperty(globalThis, 'indexedDB', { value: undefined }));
  await openOwn(page);
  await expect(notice(page)).toContainText('This browser window keeps nothing, as private windows do.');
  const entries = unzipSync(await savedStudy(page));
  expect(Buffer.from(entries['files/1.csv']!)).toEqual(records().bytes);
});

test('what a newer program kept is left alone', async ({ page }) => {
  await page.route('**/bare', (route) => route.fulfill({ contentType: 'text/html', body: '<p>bare' }));
  await page.goto('/bare');
  await page.evaluate(
    () =>
      new Promise<void>((resolve) => {
        const asked = indexedDB.open('growout', 99);
        asked.onupgradeneeded = () => asked.result.createObjectStore('future').put('theirs', 'key');
        asked.onsuccess = () => {
          asked.result.close();
          resolve();
        };
      }),
  );
  await begin(page);
  await expect(notice(page)).toContainText('written by a newer Growout');
  await expect(page.getByTestId('loaded')).toContainText('Demo herd');
  const versions = await page.evaluate(async () =>
    (await indexedDB.databases()).map(({ version }) => version),
  );
  expect(versions).toEqual([99]);
});

test('one action erases everything', async ({ page }) => {
  await openOwn(page);
  await type(page, 0, 'gone soon');
  await expect(cell(page, 0)).toHaveText('gone soon');
  await page.evaluate(async () => {
    localStorage.setItem('growout-test', 'x');
    localStorage.setItem('another-program', 'x');
    await (await caches.open('growout-test')).put('/x', new Response('x'));
  });
  await openPanel(page);
  await expect(page.getByTestId('kept')).toHaveText('1 file, 1 change');
  expect(await violations(page, 'all')).toEqual([]);
  await page.getByRole('button', { name: 'Erase everything' }).click();
  await page.getByRole('button', { name: 'Erase it for good' }).click();
  await expect(page.getByTestId('loaded')).toContainText('Demo herd', { timeout: 60_000 });
  const left = await page.evaluate(async () => {
    const asked = indexedDB.open('growout');
    const database = await new Promise<IDBDatabase>((resolve) => {
      asked.onsuccess = () => resolve(asked.result);
    });
    const kept: Record<string, number> = {};
    for (const name of database.objectStoreNames) {
      const count = database.transaction(name).objectStore(name).count();
      kept[name] = await new Promise((resolve) => {
        count.onsuccess = () => resolve(count.result);
      });
    }
    database.close();
    const names = (await indexedDB.databases()).map(({ name }) => name);
    return { kept, names, web: Object.keys(localStorage), caches: await caches.keys() };
  });
  const { desk, ...kept } = left.kept;
  expect(desk).toBe(1);
  expect(Object.values(kept)).toEqual(Object.values(kept).map(() => 0));
  expect(left).toMatchObject({ names: ['growout'], web: ['another-program'], caches: [] });
  await page.reload();
  await expect(page.getByTestId('loaded')).toContainText('Demo herd', { timeout: 60_000 });
});

test('a study goes into one file and comes back elsewhere with equal results', async ({
  page,
  browser,
  baseURL,
}) => {
  await openOwn(page);
  await type(page, 0, 'new yard');
  await expect(cell(page, 0)).toHaveText('new yard');
  await openPanel(page);
  const study = await savedStudy(page);
  const results = async (of: Page): Promise<string[]> => {
    await of.goto('/#growth');
    await of.getByRole('navigation', { name: 'Pages' }).getByText('Growth', { exact: true }).click();
    await settled(of);
    return of
      .locator('[data-entry]')
      .evaluateAll((entries) => entries.map((entry) => entry.innerHTML.replaceAll(/P\d+-\d+/g, '')));
  };
  const here = await results(page);

  const elsewhere = await (await browser.newContext({ baseURL: baseURL! })).newPage();
  await begin(elsewhere);
  await drop(elsewhere, [studyFile(study)]);
  await expect(elsewhere.getByTestId('loaded')).toContainText('round.csv 2 horses');
  await elsewhere.reload();
  await expect(cell(elsewhere, 0)).toHaveText('new yard', { timeout: 60_000 });
  await openPanel(elsewhere);
  const again = await savedStudy(elsewhere);
  expect(await results(elsewhere)).toEqual(here);
  expect(here.join('')).toContain('horses');

  const parts = (bytes: Buffer): Record<string, string> => {
    const { 'manifest.json': _when, ...rest } = unzipSync(bytes);
    return Object.fromEntries(
      Object.entries(rest).map(([name, part]) => [name, Buffer.from(part).toString()]),
    );
  };
  expect(parts(again)).toEqual(parts(study));
  await elsewhere.context().close();
});

test('a study file asks before it takes the place of what is kept', async ({ page }) => {
  await openOwn(page);
  await openPanel(page);
  const study = await savedStudy(page);
  await page.getByRole('button', { name: 'To the pages' }).click();
  await type(page, 0, 'mine');
  await expect(cell(page, 0)).toHaveText('mine');
  await drop(page, [studyFile(study)]);
  await expect(page.getByTestId('study-question')).toContainText(
    '1 file. It takes the place of what is kept in this browser: 1 file, 1 change.',
  );
  await page.getByRole('button', { name: 'Open it in place of what is kept' }).click();
  await expect(cell(page, 0)).toHaveText('yard-0');
  await expect.poll(() => keptNames(page)).toEqual([]);
});

test('a study file that is none changes nothing and gets a sentence', async ({ page }) => {
  await openOwn(page);
  await openPanel(page);
  const study = await savedStudy(page);
  await drop(page, [studyFile(study.subarray(0, study.length / 2), 'half.growout')]);
  await expect(page.getByTestId('trouble')).toContainText(
    'half.growout is no study file, or only part of one',
  );
  await expect(page.getByTestId('loaded')).toContainText('round.csv');
});
