import { fileURLToPath } from 'node:url';
import type { Page } from '@playwright/test';
import { build } from 'vite';
import type * as database from '../../src/app/store/database.ts';
import type { Study } from '../../src/app/store/kept.ts';
import type * as store from '../../src/app/store/study-store.ts';
import { expect, test } from './watched-page.ts';

type Stores = typeof database & typeof store;
declare global {
  var stores: Stores;
}

/** The store alone, bundled as the program has it. */
async function bundled(): Promise<string> {
  const file = (name: string) =>
    JSON.stringify(fileURLToPath(new URL(`../../src/app/store/${name}`, import.meta.url)));
  const result = await build({
    configFile: false,
    logLevel: 'error',
    build: { write: false, minify: false, lib: { entry: 'entry', formats: ['es'] } },
    plugins: [
      {
        name: 'entry',
        resolveId: (id) => (id.endsWith('entry') ? '\0entry' : null),
        load: (id) =>
          id === '\0entry'
            ? `export * from ${file('database.ts')}; export * from ${file('study-store.ts')};`
            : null,
      },
    ],
  });
  const [first] = Array.isArray(result) ? result : [result];
  if (!first || !('output' in first)) throw new Error('the bundle must have an output');
  return first.output[0].code;
}

let code = '';
test.beforeAll(async () => {
  code = await bundled();
});

/** A page of our origin that holds the store and nothing else. */
async function bare(page: Page): Promise<void> {
  await page.route('**/bare', (route) =>
    route.fulfill({ contentType: 'text/html', body: '<!doctype html><link rel="icon" href="data:," />' }),
  );
  await page.route('**/stores.js', (route) => route.fulfill({ contentType: 'text/javascript', body: code }));
  await page.goto('/bare');
  await page.evaluate(async () => {
    globalThis.stores = (await import(`${location.origin}/stores.js`)) as Stores;
  });
}

const EMPTY: Study = {
  records: null,
  amendments: [],
  cohorts: [],
  derived: [],
  pages: [],
  mappings: [],
  settings: {},
};
const struck = (id: string) =>
  ({
    id,
    at: '2026-03-09T10:00:00Z',
    batch: id,
    by: null,
    reason: null,
    deed: { kind: 'strike', row: 'r' },
  }) as const;

test('gives back what was kept, in order, from another connection', async ({ page }) => {
  await bare(page);
  const study = {
    ...EMPTY,
    amendments: [struck('a'), struck('b')],
    pages: [{ id: 'p', text: 't' }],
    settings: { one: [1, null, 'x'] },
  };
  const back = await page.evaluate(async (given) => {
    const first = stores.studyStore(await stores.openDatabase(), 'one');
    await first.takePen();
    await first.replaceAll(given);
    await first.append([{ ...given.amendments[0]!, id: 'c', batch: 'c' }]);
    first.close();
    return stores.studyStore(await stores.openDatabase(), 'two').read();
  }, study);
  expect(back).toEqual({ ...study, amendments: [struck('a'), struck('b'), struck('c')] });
});

test('refuses a tab that has lost the pen, and changes nothing', async ({ page }) => {
  await bare(page);
  const outcome = await page.evaluate(async (strike) => {
    const first = stores.studyStore(await stores.openDatabase(), 'one');
    const second = stores.studyStore(await stores.openDatabase(), 'two');
    await first.takePen();
    await first.append([strike]);
    await second.takePen();
    const refused = await first
      .append([strike, strike])
      .catch((error: Error & { reason: string }) => error.reason);
    const erased = await first
      .replaceAll({ ...(await first.read()), amendments: [] })
      .catch((error: Error) => error.name);
    await second.append([strike]);
    return {
      refused,
      erased,
      kept: (await second.read()).amendments.length,
      revision: await second.revision(),
    };
  }, struck('a'));
  expect(outcome).toEqual({ refused: 'elsewhere', erased: 'NotKept', kept: 2, revision: 2 });
});

test('keeps all of a change or none of it', async ({ page }) => {
  await bare(page);
  const outcome = await page.evaluate(async (strike) => {
    const one = stores.studyStore(await stores.openDatabase(), 'one');
    await one.takePen();
    await one.append([strike]);
    const unkeepable = { ...strike, reason: (() => null) as unknown as string };
    const failed = await one.append([strike, strike, unkeepable]).catch((error: Error) => error.name);
    return { failed, kept: (await one.read()).amendments.length };
  }, struck('a'));
  expect(outcome).toEqual({ failed: 'NotKept', kept: 1 });
});

test('brings an older version up to date and leaves a newer one alone', async ({ page }) => {
  await bare(page);
  const outcome = await page.evaluate(async (strike) => {
    const old = stores.studyStore(await stores.openDatabase(), 'one');
    await old.takePen();
    await old.append([strike]);
    old.close();
    // What a later program may do: name each amendment's author.
    const upgrades: Stores['UPGRADES'] = [
      ...stores.UPGRADES,
      async (_database, transaction) => {
        let cursor = await transaction.objectStore('amendments').openCursor();
        while (cursor) {
          await cursor.update({ ...cursor.value, by: 'somebody' });
          cursor = await cursor.continue();
        }
      },
    ];
    const newer = stores.studyStore(await stores.openDatabase({ upgrades }), 'two');
    const [upgraded] = (await newer.read()).amendments;
    newer.close();
    const refused = await stores.openDatabase().catch((error: Error & { reason: string }) => error.reason);
    const again = stores.studyStore(await stores.openDatabase({ upgrades }), 'three');
    return { by: upgraded?.by, refused, kept: (await again.read()).amendments.length };
  }, struck('a'));
  expect(outcome).toEqual({ by: 'somebody', refused: 'newer-program', kept: 1 });
});

test('lets go of the database for a tab that erases it', async ({ page }) => {
  await bare(page);
  const told = await page.evaluate(async () => {
    const heard: string[] = [];
    await stores.openDatabase({ closed: (why) => heard.push(why) });
    await new Promise<void>((resolve, reject) => {
      const erasing = indexedDB.deleteDatabase('growout');
      erasing.onsuccess = () => resolve();
      erasing.onblocked = () => reject(new Error('blocked'));
    });
    return heard;
  });
  expect(told).toEqual(['erased-or-upgraded']);
});
