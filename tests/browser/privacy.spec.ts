import type { Page } from '@playwright/test';
import { POLICY } from '../../src/tasks/security-headers.ts';
import { cell, openOwn, type } from './keeping-helpers.ts';
import { expect, openPage, test } from './watched-page.ts';

/** Whatever a browser can keep for an origin. */
async function keptAnywhere(page: Page) {
  return page.evaluate(async () => {
    const rows: Record<string, number> = {};
    for (const { name } of await indexedDB.databases()) {
      const asked = indexedDB.open(name as string);
      const database = await new Promise<IDBDatabase>((resolve) => {
        asked.onsuccess = () => resolve(asked.result);
      });
      for (const store of database.objectStoreNames) {
        const count = database.transaction(store).objectStore(store).count();
        rows[`${name}/${store}`] = await new Promise((resolve) => {
          count.onsuccess = () => resolve(count.result);
        });
      }
      database.close();
    }
    const files: string[] = [];
    const root = (await navigator.storage.getDirectory()) as unknown as { keys(): AsyncIterable<string> };
    for await (const name of root.keys()) files.push(name);
    const workers = await navigator.serviceWorker.getRegistrations();
    return {
      rows: Object.fromEntries(Object.entries(rows).filter(([, n]) => n > 0)),
      files,
      caches: await caches.keys(),
      local: Object.keys(localStorage),
      session: Object.keys(sessionStorage),
      cookies: document.cookie,
      serviceWorkers: workers.length,
    };
  });
}

test('the screen says where data lies, and one action leaves nothing behind', async ({ page, context }) => {
  await openOwn(page);
  await expect(page.locator('.colophon')).toContainText('Nothing leaves this machine.');
  await type(page, 0, 'gone soon');
  await expect(cell(page, 0)).toHaveText('gone soon');
  // What an earlier or a later version of the program may have left.
  await page.evaluate(async () => {
    sessionStorage.setItem('growout-x', 'x');
    localStorage.setItem('growout-x', 'x');
    await (await caches.open('growout-x')).put('/x', new Response('x'));
    const root = await navigator.storage.getDirectory();
    await (await root.getDirectoryHandle('growout-x', { create: true })).getFileHandle('y', { create: true });
  });
  const before = await keptAnywhere(page);
  expect(Object.keys(before.rows)).toContain('growout/amendments');
  expect(before).toMatchObject({ files: ['growout-x'], cookies: '', serviceWorkers: 0 });

  await page.getByRole('button', { name: /^Where your work lies/ }).click();
  await page.getByRole('button', { name: 'Erase everything' }).click();
  await page.getByRole('button', { name: 'Erase it for good' }).click();
  await expect(page.getByTestId('loaded')).toContainText('Demo herd', { timeout: 60_000 });
  const nothing = { files: [], caches: [], local: [], session: [], cookies: '', serviceWorkers: 0 };
  // Which tab may write, and no word of the user's.
  expect(await keptAnywhere(page)).toEqual({ ...nothing, rows: { 'growout/desk': 1 } });
  expect(await context.cookies()).toEqual([]);
});

test('every answer carries the policy, and it lets nothing run but the program’s own scripts', async ({
  page,
}) => {
  const answers: { readonly url: string; readonly policy: string | null }[] = [];
  page.context().on('response', (response) => {
    if (response.url().startsWith('http'))
      answers.push({ url: response.url(), policy: response.headers()['content-security-policy'] ?? null });
  });
  await openPage(page, 'caseload');
  expect(answers.length).toBeGreaterThan(5);
  expect(answers.filter(({ policy }) => policy !== POLICY)).toEqual([]);
  const directives = Object.fromEntries(
    POLICY.split('; ').map((each) => [each.split(' ')[0], each.split(' ').slice(1)]),
  );
  expect(directives['default-src']).toEqual(["'none'"]);
  expect(directives['script-src']).toEqual(["'self'", "'wasm-unsafe-eval'"]);
  expect(directives['connect-src']).toEqual(["'self'"]);
  const inline = await page.evaluate(() => {
    const hosts = [...document.querySelectorAll('*')];
    return {
      scripts: hosts.filter((each) => each.matches('script:not([src])')).length,
      handlers: hosts.filter((each) => [...each.attributes].some(({ name }) => name.startsWith('on'))).length,
      meta: document.querySelector('meta[http-equiv="Content-Security-Policy"]')?.getAttribute('content'),
    };
  });
  expect(inline).toMatchObject({ scripts: 0, handlers: 0 });
  expect(POLICY.startsWith(inline.meta ?? 'none')).toBe(true);
});
