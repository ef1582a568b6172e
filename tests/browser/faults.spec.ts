import { readFileSync } from 'node:fs';
import type { Page, Worker } from '@playwright/test';
import { strFromU8, strToU8, unzipSync, zipSync } from 'fflate';
import { begin, cell, changes, keptNames, openOwn, records, type } from './keeping-helpers.ts';
import { drop, expect, openPage, settled, test } from './watched-page.ts';

/** As many as a test run has time for; `GROWOUT_FAULTS=200` with any `GROWOUT_SEED` is the long form. */
const FAULTS = Number(process.env.GROWOUT_FAULTS ?? 4);
const SEED = Number(process.env.GROWOUT_SEED ?? 1);
/** So few that the row of the next change is in sight after any other: the sheet draws no row that is not. */
const ROWS = 6;
/** On a machine with much else to do the engine has taken a minute to start. */
const PATIENCE_MS = 180_000;
// Nothing here waits without end: by itself a press or an event is waited for as long as the test may take.
test.use({ actionTimeout: 60_000, navigationTimeout: 60_000 });

const notice = (page: Page) => page.getByTestId('engine-notice');

/** What a thread answers; null where it does not within ten seconds, as one that has just ended may. */
function answerOf<T>(asked: Promise<T>): Promise<T | null> {
  const late = new Promise<null>((resolve) => setTimeout(() => resolve(null), 10_000));
  return Promise.race([asked.catch(() => null), late]);
}

/** The page's threads: the engine's alone is a classic script, and those for estimators begin after the herd's. */
async function thread(page: Page, which: 'herd' | 'engine' | 'estimators'): Promise<Worker | null> {
  const isLast = which === 'estimators';
  for (const worker of isLast ? page.workers().reverse() : page.workers()) {
    const kind = await answerOf(
      worker.evaluate(() => {
        try {
          (self as unknown as { importScripts(): void }).importScripts();
          return 'engine';
        } catch {
          return 'herd';
        }
      }),
    );
    if (kind === (isLast ? 'herd' : which)) return worker;
  }
  return null;
}

/** Ends it with no word to anyone. */
async function end(page: Page, which: 'herd' | 'engine' | 'estimators' | 'tab'): Promise<void> {
  if (which !== 'tab') {
    const worker = await thread(page, which);
    if (worker) await answerOf(worker.evaluate(() => self.close()));
    return;
  }
  const session = await page.context().newCDPSession(page);
  const crashed = page.waitForEvent('crash');
  session.send('Page.crash').catch(() => undefined);
  await crashed;
  await page.close();
}

/** One press, and what was open stands again. */
async function startAgain(page: Page): Promise<void> {
  await expect(notice(page)).toContainText('has stopped');
  await notice(page).getByRole('button', { name: 'Start it again' }).click();
  await expect(notice(page)).toHaveCount(0);
  await expect(page.getByTestId('busy')).toHaveCount(0, { timeout: PATIENCE_MS });
}

test('with a thread gone the user is told, and one press goes on', async ({ page }) => {
  await openOwn(page);
  const made: string[] = [];
  for (const [row, which] of (['engine', 'herd'] as const).entries()) {
    made.push(`sure ${which}`);
    await type(page, row, `sure ${which}`);
    await expect(cell(page, row)).toHaveText(`sure ${which}`);
    await end(page, which);
    await expect(notice(page)).toContainText('every change that was confirmed are kept');
    await type(page, 5, 'not made');
    // What was not confirmed says so where it was typed.
    await expect(page.getByRole('textbox', { name: 'Client' })).toHaveAttribute('aria-invalid', 'true');
    await page.keyboard.press('Escape');
    expect(await keptNames(page)).toEqual(made);
    await startAgain(page);
    await expect(cell(page, row)).toHaveText(`sure ${which}`);
    expect(await changes(page)).toBe(made.length);
  }
  await type(page, 2, 'later');
  await expect(cell(page, 2)).toHaveText('later');
  expect(await keptNames(page)).toEqual([...made, 'later']);
  // With no engine to show another herd by, what is erased is off the screen as well.
  await end(page, 'engine');
  await expect(notice(page)).toContainText('are kept');
  await page.getByRole('button', { name: /^Where your work lies/ }).click();
  await page.getByRole('button', { name: 'Erase everything' }).click();
  await page.getByRole('button', { name: 'Erase it for good' }).click();
  await expect(page.getByTestId('loaded')).toContainText('Demo herd', { timeout: 60_000 });
  await expect(notice(page)).toHaveCount(0);
  expect(await keptNames(page)).toEqual([]);
});

test('what a thread for estimators leaves undone is worked out without it, and without both', async ({
  page,
}) => {
  await openPage(page, 'growth');
  // The engine's, the herd's, and the two.
  await expect.poll(() => page.workers().length).toBe(4);
  await page.getByRole('button', { name: 'Narrow the herd' }).click();
  const firm = page.getByRole('checkbox', { name: /^firm/ }).first();
  for (const left of [3, 2]) {
    await firm.click();
    await end(page, 'estimators');
    await expect.poll(() => page.workers().length).toBe(left);
    await settled(page);
  }
  await firm.click();
  await settled(page);
  await expect(page.locator('[data-status="failed"], [data-status="blocked"]')).toHaveCount(0);
  await expect(page.locator('[data-status="done"]').first()).toBeVisible();
  await expect(notice(page)).toHaveCount(0);
});

test('changes to the demo herd and files looked over outlive the engine', async ({ page }) => {
  await begin(page);
  await type(page, 0, 'demo yard');
  await expect(cell(page, 0)).toHaveText('demo yard');
  await drop(page, [records()]);
  const read = page.getByRole('button', { name: 'Read the rows', exact: true });
  await expect(read).toBeVisible();
  await end(page, 'engine');
  await startAgain(page);
  await page.getByRole('button', { name: 'Do not open them', exact: true }).click();
  await expect(cell(page, 0)).toHaveText('demo yard');
  await drop(page, [records()]);
  await expect(read).toBeVisible();
  await end(page, 'herd');
  await startAgain(page);
  await read.click();
  await expect(page.getByTestId('identity')).toContainText('40 rows read = 40 admitted + 0 set aside');
});

/** What is under way when the fault comes: begun, and given up where the fault has taken away what it wants to press. */
const DEEDS = {
  edit: (page: Page, k: number) => type(page, ROWS + (k % ROWS), `perhaps ${k}`, 5_000),
  async intake(page: Page) {
    await drop(page, [records()]);
    await page.getByRole('button', { name: /^Read as a newer export/ }).click({ timeout: 5_000 });
  },
  async save(page: Page) {
    await page.getByRole('button', { name: /^Where your work lies/ }).click({ timeout: 5_000 });
    await page.getByRole('button', { name: 'Save a study file' }).first().click({ timeout: 5_000 });
  },
  async export(page: Page) {
    await page.getByRole('link', { name: /^Caseload/ }).click({ timeout: 5_000 });
    await settled(page);
    await page.getByRole('button', { name: 'Save this table as Parquet' }).first().click({ timeout: 5_000 });
  },
} as const;

test(`${FAULTS} faults in the middle of something lose nothing that was confirmed`, async ({
  page,
  context,
}) => {
  test.setTimeout(60_000 + FAULTS * 60_000);
  // A linear congruential generator (constants of Numerical Recipes): the same seed tells the same story.
  let state = SEED;
  const pick = <T>(from: readonly T[]): T => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return from[Math.floor((state / 2 ** 32) * from.length)] as T;
  };
  const deeds = Object.keys(DEEDS) as (keyof typeof DEEDS)[];
  const victims = ['herd', 'engine', 'tab'] as const;
  await openOwn(page);
  const confirmed: string[] = [];
  let tab = page;
  for (let k = 0; k < FAULTS; k++) {
    const row = k % ROWS;
    const began = performance.now();
    await type(tab, row, `sure ${k}`);
    await expect(cell(tab, row)).toHaveText(`sure ${k}`);
    confirmed.push(`sure ${k}`);
    // In the short form each kind comes once; drawn by lot in the long one.
    const deed = k < deeds.length ? (deeds[k] as keyof typeof DEEDS) : pick(deeds);
    const victim =
      k < deeds.length ? (victims[k % victims.length] as (typeof victims)[number]) : pick(victims);
    const story = `fault ${k}: the ${victim} gone in the middle of ${deed}, seed ${SEED}`;
    const under = DEEDS[deed](tab, k).catch(() => undefined);
    await tab.waitForTimeout(pick([0, 5, 20, 60, 150, 400]));
    await end(tab, victim);
    if (victim === 'tab') {
      tab = await context.newPage();
      await tab.goto('/#records');
    } else {
      await under;
      await startAgain(tab);
      await tab.keyboard.press('Escape');
      await tab.getByRole('link', { name: /^Records/ }).click();
    }
    await expect(cell(tab, row), story).toHaveText(`sure ${k}`, { timeout: PATIENCE_MS });
    const kept = await keptNames(tab);
    expect(
      kept.filter((name) => name.startsWith('sure')),
      story,
    ).toEqual(confirmed);
    expect(await changes(tab), story).toBe(kept.length);
    await expect(tab.getByTestId('keeping-notice'), story).toHaveCount(0);
    // For the table of the soak.
    const ms = Math.round(performance.now() - began);
    test.info().annotations.push({
      type: 'survived',
      description: `${ms} ms: the ${victim}${victim === 'tab' ? '' : '’s thread'} ended in the middle of: ${deed}`,
    });
  }
});

/** Written by the first version of the format; every later program must read it. */
const FIRST_FORMAT = readFileSync(new URL('../fixtures/study-format-1.growout', import.meta.url));
const study = (bytes: Uint8Array, name: string) => ({
  name,
  type: 'application/zip',
  bytes: Buffer.from(bytes),
});

test('a study file of the first format opens, and one of a later format is refused with nothing lost', async ({
  page,
}) => {
  await begin(page);
  await drop(page, [study(FIRST_FORMAT, 'first.growout')]);
  await expect(page.getByTestId('loaded')).toContainText('round.csv 2 horses');
  await expect(cell(page, 0)).toHaveText('first yard');
  const parts = unzipSync(FIRST_FORMAT);
  const manifest = JSON.parse(strFromU8(parts['manifest.json'] as Uint8Array));
  expect(manifest.version).toBe(1);
  const later = strToU8(JSON.stringify({ ...manifest, version: 2, lists: 'otherwise' }));
  await drop(page, [study(zipSync({ ...parts, 'manifest.json': later }), 'later.growout')]);
  await expect(page.getByTestId('trouble')).toContainText(
    'later.growout was written by a newer Growout (format 2; this one reads up to 1)',
  );
  await expect(cell(page, 0)).toHaveText('first yard');
  expect(await keptNames(page)).toEqual(['first yard']);
});
