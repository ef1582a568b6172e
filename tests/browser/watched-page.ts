import { test as base, expect, type Page } from '@playwright/test';

/** What a page may not do: speak to another origin, complain on the console, break the content-security policy. */
export interface Watch {
  readonly foreign: string[];
  readonly complaints: string[];
}

/** A page that is watched throughout; every test fails if anything was seen. */
export const test = base.extend<{ watch: Watch }>({
  watch: [
    async ({ page, baseURL }, use) => {
      const watch: Watch = { foreign: [], complaints: [] };
      const origin = new URL(baseURL ?? '').origin;
      page.context().on('request', (request) => {
        const address = request.url();
        if (!address.startsWith(origin) && !/^(blob|data):/.test(address)) watch.foreign.push(address);
      });
      const complain = (text: string): void => void watch.complaints.push(text);
      const context = page.context();
      listen(page, complain);
      context.on('page', (opened) => listen(opened, complain));
      await context.addInitScript(() => {
        document.addEventListener('securitypolicyviolation', (event) =>
          console.error(`policy: ${event.violatedDirective} ${event.blockedURI}`),
        );
      });
      await use(watch);
      expect(watch.foreign, 'requests to another origin').toEqual([]);
      expect(watch.complaints, 'console errors and policy violations').toEqual([]);
    },
    { auto: true },
  ],
});

export { expect };

/** The console of a page and of its threads, and violations of the policy in any of them. */
function listen(page: Page, complain: (text: string) => void): void {
  page.on('console', (message) => {
    if (message.type() === 'error' || message.type() === 'warning') complain(message.text());
  });
  page.on('pageerror', (error) => complain(error.message));
  page.on('worker', (worker) => {
    worker
      .evaluate(() => {
        self.addEventListener('securitypolicyviolation', (event) => {
          const { violatedDirective, blockedURI } = event as SecurityPolicyViolationEvent;
          console.error(`policy in a worker: ${violatedDirective} ${blockedURI}`);
        });
      })
      .catch(() => undefined);
  });
}

/** Waits until the demo herd stands and every entry of the page is done. */
export async function openPage(page: Page, id: string): Promise<void> {
  await page.goto(`/#${id}`);
  await expect(page.getByTestId('loaded')).toContainText('horses', { timeout: 60_000 });
  await settled(page);
}

/** Waits until no entry of the page waits or runs, and none begins to a moment later. */
export async function settled(page: Page): Promise<void> {
  await expect(page.locator('[data-entry]').first()).toBeVisible();
  const atWork = page.locator('[data-status="running"], [data-status="waiting"]');
  await expect(atWork).toHaveCount(0, { timeout: 90_000 });
  // What was just chosen is taken up with the next drawing: before that all still looks done.
  await page.evaluate(
    () =>
      new Promise((resolve) =>
        requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(resolve, 50))),
      ),
  );
  await expect(atWork).toHaveCount(0, { timeout: 90_000 });
}

/** Drops files on the page as a user would. */
export async function drop(
  page: Page,
  files: readonly { readonly name: string; readonly type: string; readonly bytes: Buffer }[],
): Promise<void> {
  const handed = files.map(({ name, type, bytes }) => ({ name, type, base64: bytes.toString('base64') }));
  const transfer = await page.evaluateHandle((given) => {
    const data = new DataTransfer();
    for (const { name, type, base64 } of given) {
      const bytes = Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
      data.items.add(new File([bytes], name, { type }));
    }
    return data;
  }, handed);
  await page.dispatchEvent('.shell', 'dragover', { dataTransfer: transfer });
  await page.dispatchEvent('.shell', 'drop', { dataTransfer: transfer });
}
