import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { expect, openPage, test } from './watched-page.ts';

const ASSETS = join(import.meta.dirname, '../../dist/assets');
const KB = 1000;
const isEngine = (name: string): boolean => name.startsWith('duckdb-');
const nameOf = (address: string): string => new URL(address).pathname.split('/').at(-1) ?? '';

test('a page can be read before the engine is there, which is asked for before most of the program', async ({
  page,
}) => {
  const asked: string[] = [];
  page.context().on('request', (request) => {
    if (request.url().startsWith('http')) asked.push(nameOf(request.url()));
  });
  let arrive: () => void = () => undefined;
  const held = new Promise<void>((resolve) => {
    arrive = resolve;
  });
  await page.context().route(/duckdb-eh[^/]*\.wasm$/, async (route) => {
    await held;
    await route.continue();
  });
  await page.goto('/#growth');
  const preview = page.getByTestId('preview');
  await expect(preview.getByRole('heading', { level: 1 })).toBeVisible();
  await expect(preview.getByRole('heading', { level: 2 }).first()).toBeVisible();
  await expect(preview.locator('.page-text p').first()).toBeVisible();
  await expect(preview.getByLabel('Cautions')).toContainText('not diagnosis');
  await expect.poll(() => asked.some((name) => /^duckdb.*\.wasm$/.test(name))).toBe(true);
  await expect(page.getByTestId('loaded')).toContainText('No records open');

  // What the first script and the page before the engine need, as gzip.
  const html = readFileSync(join(ASSETS, '../index.html'), 'utf8');
  const first = readdirSync(ASSETS).filter(
    (name) => /\.js$/.test(name) && html.split('<meta name="scripts-for-later"')[0]?.includes(name),
  );
  const bytes = first.reduce((sum, name) => sum + gzipSync(readFileSync(join(ASSETS, name))).length, 0);
  expect(first.length).toBeGreaterThan(2);
  expect(bytes).toBeLessThan(120 * KB);
  const before = asked.slice(
    0,
    asked.findIndex((name) => /^duckdb.*\.wasm$/.test(name)),
  );
  const scripts = [...new Set(before)].filter((name) => name.endsWith('.js') && !isEngine(name));
  expect(scripts.filter((name) => !first.includes(name))).toEqual([]);
  arrive();
  await expect(page.getByTestId('loaded')).toContainText('horses', { timeout: 60_000 });
  await expect(page.getByTestId('page').getByRole('heading', { level: 1 })).toBeVisible();
});

test('once all has come, everything works without the server', async ({ page }) => {
  const arrived = new Set<string>();
  page.context().on('requestfinished', (request) => arrived.add(nameOf(request.url())));
  await openPage(page, 'growth');
  const later =
    (await page.locator('meta[name="scripts-for-later"]').getAttribute('content'))?.split(' ') ?? [];
  expect(later.length).toBeGreaterThan(10);
  await expect
    .poll(() => later.filter((address) => !arrived.has(nameOf(new URL(address, page.url()).href))))
    .toEqual([]);
  // From here on a request fails, and says so on the console, which fails the test.
  await page.context().route(/^(?!.*\/icon-).*$/, (route) => route.abort());

  await page.getByRole('link', { name: /^Records/ }).click();
  await expect(page.getByRole('grid').first()).toContainText('H001');
  await page.getByRole('button', { name: 'Rows read and set aside' }).click();
  await expect(page.getByRole('heading', { level: 1 })).toBeVisible();
  await page.getByRole('button', { name: /^Where your work lies/ }).click();
  await expect(page.getByTestId('keeping')).toBeVisible();
  const saved = page.waitForEvent('download');
  await page
    .getByRole('button', { name: /study file/ })
    .first()
    .click();
  expect((await saved).suggestedFilename()).toMatch(/\.growout$/);
  await page.getByRole('button', { name: 'New page' }).click();
  await expect(page.locator('.cm-content').first()).toBeVisible();
});
