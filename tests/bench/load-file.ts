import { join, resolve } from 'node:path';
import type { Browser, BrowserContext, Page } from '@playwright/test';
import type { FileKind } from './native.ts';
import { installProbe } from './probe.ts';
import type { Served } from './served.ts';

export interface Opened {
  readonly context: BrowserContext;
  readonly page: Page;
  readonly ms: number;
}

/** A herd through the file input in a fresh profile: files chosen, columns looked over, rows read, until the books show. */
export async function loadFile(
  browser: Browser,
  served: Served,
  folder: string,
  kind: FileKind,
): Promise<Opened> {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 } });
  context.setDefaultTimeout(600_000);
  await installProbe(context);
  const page = await context.newPage();
  await page.goto(served.address);
  await page.waitForFunction(() => window.bench.first.plot !== null);
  const files = ['visits', 'horses'].map((name) => resolve(join(folder, `${name}.${kind}`)));
  const began = performance.now();
  await page.getByLabel('Open visit records').setInputFiles(files);
  await page.waitForFunction(() => document.querySelector('[data-testid="mapping"]') !== null);
  await page
    .getByTestId('mapping')
    .getByRole('button', { name: /^Read the rows/ })
    .first()
    .click();
  await page.waitForFunction(
    () => document.querySelector('[data-testid="identity"], [data-testid="trouble"]') !== null,
  );
  const ms = performance.now() - began;
  const trouble = page.getByTestId('trouble');
  if (await trouble.isVisible()) throw new Error((await trouble.textContent()) ?? '');
  return { context, page, ms };
}
