// `npm run pictures`: builds the notebook, opens its pages on the demo herd in a real Chromium and saves what stands
// there, into docs/pictures or the folder named. `--all` saves every page at every width, light and dark; `--only caseload`
// those of one page or name. `--look after` saves the first two screens of every page, wide and narrow, into a folder of that name,
// and `--built DIR` takes them of a program that was built before: docs/before-and-after.md sets two such side by side.
import { mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { CHROMIUM_ARGUMENTS, chromiumPath } from './chromium.mjs';
import { install, ROOT } from './install.mjs';

/** What the documents show: a page from its top, or from one of its entries on. */
const SHOWN = [
  { page: 'caseload', width: 1280, scheme: 'light' },
  { page: 'one-horse', width: 1280, scheme: 'light', from: 'toe' },
  { page: 'one-horse', width: 1280, scheme: 'light', paper: true },
  { page: 'growth', width: 1280, scheme: 'light', from: 'by_group' },
  { page: 'interval', width: 1280, scheme: 'dark', from: 'risk' },
  { page: 'plan', width: 1280, scheme: 'light', from: 'due_list' },
  { page: 'protection', width: 820, scheme: 'light', from: 'rule' },
  { page: 'clients', width: 1280, scheme: 'light', from: 'funnel' },
  { page: 'learning', width: 1280, scheme: 'light', from: 'waiting_ratio', first: answerQuestion },
  { page: 'recurrence', width: 1280, scheme: 'light', from: 'shortcut' },
  { page: 'case-trends', width: 1280, scheme: 'light', from: 'control' },
  { page: 'growth', called: 'rows-behind', width: 1280, scheme: 'light', first: openRowsBehind },
  { page: 'caseload', called: 'how-files-are-read', width: 1280, scheme: 'light', first: openTemplates },
];
const TEMPLATES = ['spreadsheet-tab-alder-end.csv', 'spreadsheet-tab-stonegate.csv'];
const PAGES = readdirSync(join(ROOT, 'notebooks')).map((file) => basename(file, '.md'));
const EVERYTHING = PAGES.flatMap((page) =>
  [1280, 820].flatMap((width) => ['light', 'dark'].map((scheme) => ({ page, width, scheme }))),
);
const LARGEST_BYTES = 300_000;
/** Of a picture that stands beside another: it has to show how a page looks, not each letter. */
const LOOK = { widths: [1280, 820], screens: { 1280: 1800, 820: 2200 }, scale: 0.65, quality: 35 };

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    all: { type: 'boolean', default: false },
    only: { type: 'string', multiple: true },
    'whole-page': { type: 'boolean', default: false },
    look: { type: 'string' },
    built: { type: 'string' },
  },
});
install({ everything: true });
const { build, preview } = await import('vite');
const { chromium } = await import('@playwright/test');
const folder = resolve(ROOT, positionals[0] ?? 'docs/pictures', values.look ?? '.');
const outDir = values.built ? resolve(values.built) : mkdtempSync(join(tmpdir(), 'growout-pictures-'));
const config = {
  configFile: join(ROOT, 'vite.config.ts'),
  logLevel: 'warn',
  build: { outDir, emptyOutDir: true },
};
if (!values.built) await build(config);
const server = await preview({ ...config, preview: { host: '127.0.0.1', port: 4273, open: false } });
const browser = await chromium.launch({ executablePath: await chromiumPath(), args: CHROMIUM_ARGUMENTS });
try {
  mkdirSync(folder, { recursive: true });
  const wanted = ({ page, called = page }) => values.only?.includes(called) ?? true;
  if (values.look) for (const page of ['records', ...PAGES]) await look(page);
  else for (const shown of values.all ? EVERYTHING : SHOWN) if (wanted(shown)) await take(shown);
} finally {
  await browser.close();
  await server.close();
  if (!values.built) rmSync(outDir, { recursive: true, force: true });
}

async function take({ page: id, called = id, width, scheme, from, first, paper = false }) {
  const page = await browser.newPage({
    viewport: { width, height: width > 1000 ? 960 : 1100 },
    colorScheme: scheme,
    reducedMotion: 'reduce',
  });
  await page.goto(`${server.resolvedUrls.local[0]}#${id}`);
  await page.locator('[data-testid="page"] [data-entry]').first().waitFor({ timeout: 60_000 });
  await settled(page);
  await first?.(page);
  if (from)
    await page
      .locator(`[data-entry="${from}"]`)
      .evaluate((entry) => scrollTo(0, entry.getBoundingClientRect().top + scrollY - 24));
  if (paper) {
    // A sheet of A4 with its margins, as it comes out of the printer.
    await page.setViewportSize({ width: 794, height: 1123 });
    await page.emulateMedia({ media: 'print' });
    await page.addStyleTag({ content: 'html{background:#fff}body{padding:11mm 13mm!important}' });
    await page.waitForTimeout(500);
  }
  const bytes = await page.screenshot({ animations: 'disabled', fullPage: values['whole-page'] });
  await page.close();
  const name = `${called}-${paper ? 'paper' : width}${scheme === 'dark' ? '-dark' : ''}.png`;
  writeFileSync(join(folder, name), bytes);
  console.log(`${name}  ${Math.round(bytes.length / 1000)} kB`);
  if (bytes.length > LARGEST_BYTES) console.warn(`${name} is larger than ${LARGEST_BYTES / 1000} kB`);
}

/** The first two screens of a page at each width, of one loading. */
async function look(id) {
  if (!(values.only?.includes(id) ?? true)) return;
  const page = await browser.newPage({
    colorScheme: 'light',
    reducedMotion: 'reduce',
    deviceScaleFactor: LOOK.scale,
  });
  await page.goto(`${server.resolvedUrls.local[0]}#${id}`);
  await page
    .locator('[data-testid="page"] [data-entry], [role="grid"] [role="row"]')
    .first()
    .waitFor({ timeout: 60_000 });
  for (const width of LOOK.widths) {
    await page.setViewportSize({ width, height: LOOK.screens[width] });
    await settled(page);
    await page.waitForTimeout(500);
    const bytes = await page.screenshot({ type: 'jpeg', quality: LOOK.quality, animations: 'disabled' });
    const name = `${id}-${width}.jpg`;
    writeFileSync(join(folder, name), bytes);
    console.log(`${name}  ${Math.round(bytes.length / 1000)} kB`);
  }
  await page.close();
}

/** Nothing waits or runs, and every chart is drawn. */
async function settled(page) {
  await page.waitForFunction(
    () =>
      document.querySelector('[data-status="running"], [data-status="waiting"]') === null &&
      [...document.querySelectorAll('[data-kind="chart"]')].every((chart) => chart.querySelector('svg')),
    undefined,
    { timeout: 120_000 },
  );
}

/** A herd to learn from is open, and its first question has been answered as plain counting would. */
async function answerQuestion(page) {
  await page.getByRole('button', { name: 'Open the first herd' }).click();
  await page.getByText('Open now: The first herd.').waitFor();
  await settled(page);
  const question = page.locator('[data-entry="waiting_ratio"]');
  await question.getByRole('textbox').fill('3.4');
  await page.keyboard.press('Enter');
  await question.getByRole('table').waitFor();
  await settled(page);
}

/** The rows behind the first sentence are open. */
async function openRowsBehind(page) {
  await page
    .locator('[data-entry="answers"]')
    .getByRole('button', { name: 'Rows behind this' })
    .first()
    .click();
  await page.getByRole('grid').last().waitFor();
  await page.waitForTimeout(500);
}

/** Two tabs of a spreadsheet have been chosen, and stand there to be looked over. */
async function openTemplates(page) {
  const files = TEMPLATES.map((name) => join(ROOT, 'data/templates', name));
  await page.locator('input[type="file"]').first().setInputFiles(files);
  await page.getByTestId('mapping').waitFor();
}
