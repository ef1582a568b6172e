import type { Page } from '@playwright/test';
import { drop, expect } from './watched-page.ts';

/** Two horses, every foot, five visits each. */
export function records(name = 'round.csv') {
  const rows = ['horse_id,client_id,visit_date,foot,toe_before_mm,toe_after_mm,separation_grade'];
  for (const [h, horse] of ['Ada', 'Bo'].entries()) {
    for (let visit = 0; visit < 5; visit++) {
      const date = new Date(Date.UTC(2025, 0, 6 + 42 * visit)).toISOString().slice(0, 10);
      for (const [f, foot] of ['LF', 'RF', 'LH', 'RH'].entries()) {
        const toe = [90 + h + f + (visit % 3), 81 + h + f];
        rows.push([horse, `yard-${h}`, date, foot, ...toe, (visit + f) % 2].join(','));
      }
    }
  }
  return { name, type: 'text/csv', bytes: Buffer.from(`${rows.join('\n')}\n`) };
}

/** Waits until something stands: the demo herd or own records. */
export async function begin(page: Page, at = '/#records'): Promise<void> {
  await page.goto(at);
  await expect(page.getByTestId('loaded')).toContainText('horses', { timeout: 60_000 });
}

/** Opens the small records as the user's own and goes to them. */
export async function openOwn(page: Page): Promise<void> {
  await begin(page);
  await drop(page, [records()]);
  await page.getByRole('button', { name: 'Read the rows', exact: true }).click();
  await expect(page.getByTestId('identity')).toContainText('40 rows read = 40 admitted + 0 set aside');
  await page.getByRole('button', { name: 'To the pages' }).click();
  await expect(cell(page, 0)).toHaveText('yard-0');
}

/** The client's cell of a row, counted from 0. */
export const cell = (page: Page, row: number) =>
  page.getByRole('grid').locator(`[data-row="${row}"] [data-column="4"]`);

/**
 * Types into a client's cell and presses Enter; that it took effect is not waited for. Where `patience` is given, the
 * cell must come within so many milliseconds.
 */
export async function type(page: Page, row: number, text: string, patience?: number): Promise<void> {
  await cell(page, row).click(patience === undefined ? {} : { timeout: patience });
  await page.keyboard.press('F2');
  await page.keyboard.press('Control+A');
  await page.keyboard.type(text);
  await page.keyboard.press('Enter');
}

/** How many changes the screen says are written down; 0 where it says nothing. */
export async function changes(page: Page): Promise<number> {
  const words = await page.getByRole('button', { name: /^Changes/ }).textContent();
  return Number(/\((\d+)\)/.exec(words ?? '')?.[1] ?? 0);
}

const STORE_PATIENCE_MS = 60_000;

/** The client's names in the log as the browser's storage has it. Throws where it does not answer within a minute. */
export function keptNames(page: Page): Promise<string[]> {
  const read = page.evaluate(async () => {
    const answer = <T>(request: IDBRequest<T>) =>
      new Promise<T>((resolve, reject) => {
        request.onsuccess = () => resolve(request.result);
        request.onerror = () => reject(request.error);
      });
    const database = await answer(indexedDB.open('growout'));
    const amendments = database.transaction('amendments').objectStore('amendments');
    const log = (await answer(amendments.getAll())) as { deed: { value?: unknown } }[];
    database.close();
    return log.map(({ deed }) => String(deed.value));
  });
  let timer: NodeJS.Timeout;
  const late = new Promise<never>((_, reject) => {
    timer = setTimeout(() => reject(new Error('the store did not answer')), STORE_PATIENCE_MS);
  });
  return Promise.race([read, late]).finally(() => clearTimeout(timer));
}
