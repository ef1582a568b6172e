import type { Page } from '@playwright/test';
import { cell, changes, keptNames, openOwn, type } from './keeping-helpers.ts';
import { expect, test } from './watched-page.ts';

/** As many as a test run has time for; `GROWOUT_KILLS=50 npm run browser` takes a few minutes more. */
const KILLS = Number(process.env.GROWOUT_KILLS ?? 4);
const ROWS = 12;
/** On a machine with much else to do the engine has taken a minute to start. */
const PATIENCE_MS = 180_000;
// By itself a press or an event is waited for as long as the test may take.
test.use({ actionTimeout: 60_000, navigationTimeout: 60_000 });

/** Ends the tab's process from inside the browser, with no chance to put anything in order. */
async function kill(page: Page): Promise<void> {
  const session = await page.context().newCDPSession(page);
  const crashed = page.waitForEvent('crash');
  session.send('Page.crash').catch(() => undefined);
  await crashed;
  await page.close();
}

test(`a tab killed ${KILLS} times between two edits loses none that was confirmed`, async ({
  page,
  context,
}) => {
  test.setTimeout(900_000);
  await openOwn(page);
  const confirmed: string[] = [];
  let tab = page;
  for (let k = 0; k < KILLS; k++) {
    const row = k % ROWS;
    const began = performance.now();
    await expect(tab.getByTestId('keeping-notice')).toHaveCount(0);
    await type(tab, row, `sure ${k}`);
    await expect(cell(tab, row)).toHaveText(`sure ${k}`);
    confirmed.push(`sure ${k}`);
    // The next edit is under way, each time a little further.
    await type(tab, ROWS + row, `perhaps ${k}`);
    await tab.waitForTimeout((k * 7) % 40);
    await kill(tab);

    tab = await context.newPage();
    await tab.goto('/#records');
    await expect(cell(tab, row)).toHaveText(`sure ${k}`, { timeout: PATIENCE_MS });
    const kept = await keptNames(tab);
    expect(kept.filter((name) => name.startsWith('sure'))).toEqual(confirmed);
    // What was under way is there whole or not at all, and the screen tells the same as the log.
    await expect.poll(() => changes(tab)).toBe(kept.length);
    const isKept = kept.includes(`perhaps ${k}`);
    const before = kept.findLast(
      (name) => name.startsWith('perhaps') && Number(name.slice(8)) % ROWS === row,
    );
    await expect(cell(tab, ROWS + row)).toHaveText(isKept ? `perhaps ${k}` : (before ?? /^yard-/));
    // For the table of the soak.
    const ms = Math.round(performance.now() - began);
    test.info().annotations.push({
      type: 'survived',
      description: `${ms} ms: ${isKept ? 'the change under way kept whole' : 'the change under way not made'}`,
    });
  }
});
