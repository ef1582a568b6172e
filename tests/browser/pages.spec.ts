import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Locator, Page } from '@playwright/test';
import { numbers, type Table } from '../../src/core/table.ts';
import { decodeArrow } from '../../src/engine/arrow.ts';
import { initParquet, readParquet } from '../../src/engine/parquet.ts';
import { violations } from './axe.ts';
import { drop, expect, openPage, settled, test } from './watched-page.ts';

const entry = (page: Page, name: string): Locator => page.locator(`[data-entry="${name}"]`);
const runs = async (page: Page, name: string): Promise<number> =>
  Number(await entry(page, name).getAttribute('data-runs'));
const form = (page: Page, kind: string): Locator => page.getByRole('form', { name: `New ${kind}` });

async function insert(page: Page, button: string, fill: () => Promise<void>): Promise<void> {
  await page.getByRole('button', { name: button, exact: true }).click();
  await fill();
  await page.getByRole('button', { name: 'Put it on the page' }).click();
}

/** Bytes of what a click saves, and the name of the file. */
async function saved(page: Page, click: () => Promise<void>): Promise<{ name: string; bytes: Buffer }> {
  const [download] = await Promise.all([page.waitForEvent('download'), click()]);
  return { name: download.suggestedFilename(), bytes: readFileSync(await download.path()) };
}

/** Drops the file of a page and waits until it stands. */
async function openFile(page: Page, title: string, text: string): Promise<void> {
  await drop(page, [pageFile('given.md', text)]);
  await expect(page.getByRole('heading', { level: 1 })).toHaveText(title);
  await settled(page);
}

const pageFile = (name: string, text: string) => ({ name, type: 'text/markdown', bytes: Buffer.from(text) });
const fenced = (info: string, body: string) => `\`\`\`${info}\n${body}\n\`\`\`\n\n`;

/** A page with a choice, a query that it narrows, and a chart and a table of the query. */
const WRITTEN = [
  '---\ntitle: Toes by ground\n---\n\n',
  fenced('choice breed', 'kind: list\nlabel: Breed type\noptions: [draft, pony]'),
  fenced(
    'query toes',
    `SELECT terrain, count(DISTINCT horse_id) AS n_horses, median(toe_after_mm) AS middle, '=1+1' AS note
FROM foot_visit WHERE breed_type = $breed AND terrain IS NOT NULL AND toe_after_mm IS NOT NULL
GROUP BY terrain ORDER BY terrain`,
  ),
  fenced('query all_feet', 'SELECT count(*) AS n FROM foot_visit'),
  fenced('chart toe_chart', 'data: toes\ntitle: Toes by ground\nmarks: [{mark: dot, x: terrain, y: middle}]'),
  fenced('table toe_table', 'of: toes'),
].join('');

test.describe('writing a page', () => {
  test('by forms only: a choice, a query, a chart and an analysis; a choice recomputes what depends on it', async ({
    page,
  }) => {
    await openPage(page, 'measurement');
    await page.getByRole('button', { name: 'New page' }).click();
    await expect(page.getByRole('textbox', { name: 'Text of the page' })).toBeVisible();
    await page.getByLabel('Title').fill('Toes in my herd');
    await page.getByLabel('Title').press('Enter');

    await insert(page, 'Choice', async () => {
      await form(page, 'choice').getByLabel('What is chosen, in words').fill('Breed type');
      await form(page, 'choice').getByLabel('What can be chosen, one a line').fill('draft\npony\nlight');
    });
    await expect(entry(page, 'breed_type').getByRole('combobox')).toHaveValue('draft');

    await insert(page, 'Query', async () => {
      const query = form(page, 'query');
      await query.getByLabel('Split by').selectOption({ label: 'Ground' });
      await query.getByLabel('Middle value of').selectOption('toe_after_mm');
      await query.getByRole('button', { name: 'Narrow the rows' }).click();
      await query.getByLabel('Column').selectOption('breed_type');
      await query.getByLabel('Value from').selectOption({ label: 'the choice breed_type' });
      await query.getByLabel('Called, on this page').fill('toes');
    });
    await expect(entry(page, 'toes')).toHaveAttribute('data-status', 'done');

    await insert(page, 'Chart', async () => {
      await form(page, 'chart').getByLabel('Title').fill('Toe length by ground');
      await form(page, 'chart').getByLabel('Called, on this page').fill('toe_chart');
    });
    await expect(entry(page, 'toe_chart').locator('svg [data-row]')).not.toHaveCount(0);
    await expect(entry(page, 'toe_chart').locator('figcaption')).toContainText('horses');

    await insert(page, 'Analysis', async () => {
      const analysis = form(page, 'analysis');
      await analysis
        .getByLabel('Question')
        .selectOption({ label: 'How fast do the feet grow between trims?' });
      await analysis.getByLabel('Split by').selectOption({ label: 'nothing: all together' });
      await analysis.getByLabel('Called, on this page').fill('speed');
    });
    await settled(page);
    await expect(page.locator('[data-status="failed"], [data-status="blocked"]')).toHaveCount(0);
    await expect(entry(page, 'speed_found')).toContainText('95 %');
    await expect(page.getByText('The text can be read without faults.')).toBeVisible();

    const before = {
      toes: await runs(page, 'toes'),
      chart: await runs(page, 'toe_chart'),
      speed: await runs(page, 'speed'),
    };
    expect(before).toEqual({ toes: 1, chart: 1, speed: 1 });
    await entry(page, 'breed_type').getByRole('combobox').selectOption('pony');
    await expect(entry(page, 'toe_chart')).toHaveAttribute('data-runs', '2');
    await expect.poll(() => runs(page, 'toes')).toBe(2);
    expect(await runs(page, 'speed')).toBe(1);

    await expect(page.getByTestId('page-kept')).toHaveText('All changes are kept.');
    await page.reload();
    await expect(page.getByRole('link', { name: 'Toes in my herd' })).toBeVisible({ timeout: 60_000 });
    await settled(page);
    await expect(entry(page, 'toe_chart').locator('svg [data-row]')).not.toHaveCount(0);
  });

  test('while typing, only what was changed is computed again, and faults are listed with their line', async ({
    page,
  }) => {
    await openPage(page, 'measurement');
    await drop(page, [pageFile('toes.md', WRITTEN)]);
    await expect(entry(page, 'toe_chart').locator('svg').first()).toBeVisible();
    await page.getByRole('button', { name: 'Write', exact: true }).click();
    const text = page.getByRole('textbox', { name: 'Text of the page' });
    await text.click();
    await page.keyboard.press('Control+End');
    await page.keyboard.type('Some words more.');
    await expect(page.getByText('Some words more.').last()).toBeVisible();
    expect(await runs(page, 'toes')).toBe(1);
    // A query that nothing has changed stays; a new one is worked out.
    await page.keyboard.type('\n\n```query more\nSELECT * FROM toes ORDER BY terrain LIMIT 1\n```\n');
    await expect(entry(page, 'more')).toHaveAttribute('data-status', 'done');
    expect(await runs(page, 'toes')).toBe(1);
    expect(await runs(page, 'all_feet')).toBe(1);
    await page.keyboard.type('\n```table wrong\nof: nowhere\n```\n');
    const faults = page.getByRole('list', { name: 'Faults in the text' });
    await expect(faults).toContainText('no entry of this page is called nowhere');
    await expect(entry(page, 'wrong')).toHaveAttribute('data-status', 'failed');
    await faults.getByRole('button').first().click();
    await expect(text).toBeFocused();
  });

  test('pages are files: duplicate, rename, save, open again, delete after asking', async ({ page }) => {
    await openPage(page, 'recurrence');
    await expect(page.getByRole('button', { name: 'Delete' })).toHaveCount(0);
    await expect(page.getByRole('button', { name: 'Write', exact: true })).toHaveCount(0);
    await page.getByRole('button', { name: 'Duplicate' }).click();
    await expect(page).toHaveURL(/#own-/);
    await expect(page.getByText('Your pages')).toBeVisible();
    await page.getByRole('button', { name: 'Rename' }).click();
    await page.getByLabel('Title').fill('My own: returns');
    await page.getByRole('button', { name: 'Rename' }).last().click();
    await expect(page.getByRole('heading', { level: 1 })).toHaveText('My own: returns');
    await page.getByRole('button', { name: 'Save or print' }).click();
    const file = await saved(page, () => page.getByRole('button', { name: 'Save the page’s file' }).click());
    expect(file.name).toBe('my-own-returns.md');
    expect(file.bytes.toString()).toContain('title: "My own: returns"');
    await page.getByRole('button', { name: 'Delete' }).click();
    await page.getByRole('button', { name: 'Delete it' }).click();
    await expect(page.getByText('Your pages')).toHaveCount(0);
    await drop(page, [pageFile('back.md', file.bytes.toString())]);
    await expect(page.getByRole('heading', { level: 1 })).toHaveText('My own: returns');
  });

  test('the writing place, its forms and two cohorts stand up to an accessibility check', async ({
    page,
  }) => {
    await openPage(page, 'measurement');
    await openFile(page, 'Toes by ground', WRITTEN);
    await page.getByRole('button', { name: 'Write', exact: true }).click();
    await expect(page.getByRole('textbox', { name: 'Text of the page' })).toBeVisible();
    await page.getByLabel('Compare with').selectOption('breed_type pony');
    await settled(page);
    for (const name of ['Choice', 'Query', 'Analysis', 'Chart', 'Table', 'Derived column']) {
      await page.getByRole('button', { name, exact: true }).click();
      expect(await violations(page, 'practice', '.page-host'), name).toEqual([]);
    }
  });

  test('at 820 px the text and the page are shown one at a time', async ({ page }) => {
    await page.setViewportSize({ width: 820, height: 1100 });
    await openPage(page, 'measurement');
    await page.getByRole('button', { name: 'New page' }).click();
    await expect(page.getByRole('textbox', { name: 'Text of the page' })).toBeVisible();
    await expect(page.getByRole('heading', { level: 1 })).toBeHidden();
    await page.getByRole('button', { name: 'Page', exact: true }).click();
    await expect(page.getByRole('heading', { level: 1 })).toBeVisible();
    await expect(page.getByRole('textbox', { name: 'Text of the page' })).toBeHidden();
    await expect
      .poll(() => page.evaluate(() => document.documentElement.scrollWidth))
      .toBeLessThanOrEqual(820);
  });
});

test.describe('two cohorts side by side', () => {
  test('the page is computed for both, captions name them, and rows opened are of the right one', async ({
    page,
  }) => {
    await openPage(page, 'measurement');
    await openFile(page, 'Toes by ground', WRITTEN + fenced('table feet', 'of: all_feet'));
    const one = await entry(page, 'feet').locator('tbody').textContent();
    await page.getByLabel('Compare with').selectOption('breed_type pony');
    await settled(page);
    await expect(entry(page, 'feet')).toHaveCount(2);
    const both = await entry(page, 'feet').locator('tbody').allTextContents();
    expect(both[0]).toBe(one);
    const n = (text: string) => Number(text.replaceAll(/\D/g, ''));
    expect(n(both[1]!)).toBeGreaterThan(0);
    expect(n(both[1]!)).toBeLessThan(n(both[0]!));
    await expect(page.getByTestId('compared')).toContainText(/breed type pony \(\d+ horses/i);

    // The choice is made once and followed on both sides; draft horses are none among ponies.
    await expect(entry(page, 'breed')).toHaveCount(1);
    await expect(entry(page, 'toe_table').nth(1)).toContainText('No row answers');
    await entry(page, 'breed').getByRole('combobox').selectOption('pony');
    await settled(page);
    await expect(entry(page, 'toe_table').locator('tbody')).toHaveCount(2);
    const tables = await entry(page, 'toe_table').locator('tbody').allTextContents();
    await expect(entry(page, 'toe_table').nth(1).locator('caption')).toContainText('pony');
    expect(tables[1]).toBe(tables[0]);

    await page.getByLabel('Compare with').selectOption('');
    await expect(entry(page, 'feet')).toHaveCount(1);
    await expect(entry(page, 'feet').locator('tbody')).toHaveText(one ?? '');
  });

  test('an analysis differs by side, and each side’s rows are its own', async ({ page }) => {
    await openPage(page, 'growth');
    await page.getByLabel('Compare with').selectOption('breed_type pony');
    await settled(page);
    const counts: number[] = [];
    for (const side of [0, 1]) {
      const sentence = entry(page, 'answers').nth(side).locator('li').first();
      const said = /([\d,]+) trim cycles/.exec((await sentence.textContent()) ?? '')?.[1];
      await sentence.getByRole('button', { name: 'Rows behind this' }).click();
      await expect(page.getByTestId('rows-count')).toContainText(`${said} trim cycles`);
      counts.push(Number(said?.replaceAll(',', '')));
      await page.getByRole('button', { name: 'Close' }).click();
    }
    expect(counts[1]).toBeLessThan(counts[0]!);
  });
});

test.describe('taking work away', () => {
  test('a table as CSV, Parquet and Arrow holds what the page shows', async ({ page }) => {
    await initParquet(
      readFileSync(createRequire(import.meta.url).resolve('parquet-wasm/esm/parquet_wasm_bg.wasm')),
    );
    await openPage(page, 'measurement');
    await openFile(page, 'Toes by ground', WRITTEN);
    const table = entry(page, 'toe_table');
    const shown = await table.locator('tbody tr').count();
    const take = (format: string) =>
      saved(page, () => table.getByRole('button', { name: `Save this table as ${format}` }).click());
    const csv = await take('CSV');
    const lines = csv.bytes.toString().trim().split('\r\n');
    expect(lines[0]).toBe('terrain,n_horses,middle,note');
    expect(lines).toHaveLength(shown + 1);
    expect(lines[1]).toContain("'=1+1");
    await expect(table).toContainText(`${shown} cells begin as a formula would`);

    const arrow = decodeArrow((await take('Arrow')).bytes);
    const parts: Table[] = [];
    for await (const part of readParquet((await take('Parquet')).bytes)) parts.push(part.table);
    expect(parts).toHaveLength(1);
    expect(parts[0]).toEqual(arrow);
    expect(
      Array.from(
        numbers(arrow, 'middle'),
        (value, row) => `${arrow.columns.terrain?.values[row]},${numbers(arrow, 'n_horses')[row]},${value}`,
      ),
    ).toEqual(lines.slice(1).map((line) => line.split(',').slice(0, 3).join(',')));
  });

  test('a chart as SVG and PNG has its caption; the page as one HTML file has its numbers and nothing that runs', async ({
    page,
    context,
  }) => {
    await openPage(page, 'growth');
    const chart = entry(page, 'by_group');
    const caption = (await chart.locator('figcaption').textContent()) ?? '';
    const svg = await saved(page, () =>
      chart.getByRole('button', { name: 'Save this chart as SVG' }).click(),
    );
    const drawn = await page.evaluate((text) => {
      const parsed = new DOMParser().parseFromString(text, 'image/svg+xml');
      return {
        root: parsed.documentElement.tagName,
        words: [...parsed.querySelectorAll('text')].map((each) => each.textContent).join(' '),
        scripts: parsed.querySelectorAll('script, foreignObject, a').length,
      };
    }, svg.bytes.toString());
    expect(drawn.root).toBe('svg');
    expect(drawn.scripts).toBe(0);
    expect(drawn.words).toContain(caption.trim().split(' ').slice(-6).join(' '));
    const png = await saved(page, () =>
      chart.getByRole('button', { name: 'Save this chart as PNG' }).click(),
    );
    expect(png.bytes.subarray(1, 4).toString()).toBe('PNG');
    const colours = await page.evaluate(async (base64) => {
      const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
      const image = await createImageBitmap(new Blob([bytes], { type: 'image/png' }));
      const canvas = new OffscreenCanvas(image.width, image.height);
      const brush = canvas.getContext('2d')!;
      brush.drawImage(image, 0, 0);
      const { data } = brush.getImageData(0, 0, image.width, image.height);
      const seen = new Set<number>();
      for (let at = 0; at < data.length; at += 4)
        seen.add((data[at]! << 16) | (data[at + 1]! << 8) | data[at + 2]!);
      return { width: image.width, colours: seen.size };
    }, png.bytes.toString('base64'));
    expect(colours.width).toBe(1520);
    expect(colours.colours).toBeGreaterThan(10);

    const sentence = (await entry(page, 'answers').locator('li p').first().textContent()) ?? '';
    const cell =
      (await page.locator('[data-kind="table"] tbody tr').first().locator('td').last().textContent()) ?? '';
    await page.getByRole('button', { name: 'Save or print' }).click();
    const file = await saved(page, () => page.getByRole('button', { name: 'Save as HTML' }).click());
    const html = file.bytes.toString();
    expect(file.name).toBe('growth.html');
    expect(html).not.toMatch(/<script|javascript:|\son\w+\s*=|<link|<iframe/i);
    expect(html.match(/(?:src|href)="(?!#)/g)?.filter((each) => each !== 'href="') ?? []).toEqual([]);
    expect(html).toContain("default-src 'none'; style-src 'unsafe-inline'; img-src data:");

    const reader = await context.newPage();
    await reader.setContent(html);
    await expect(reader.locator('body')).toContainText(sentence);
    await expect(reader.locator('table').filter({ hasText: cell }).first()).toBeAttached();
    await expect(reader.locator('figure svg').first()).toBeVisible();
    await expect(reader.locator('header')).toContainText('120 horses');
    await expect(reader.locator('header')).toContainText('Made on');
    await expect(reader.locator('.cautions')).toContainText('invented');
    await reader.close();
  });

  test('a page prints on A4 and on US Letter, choices as text, nothing to press', async ({ page }) => {
    await openPage(page, 'recurrence');
    for (const format of ['A4', 'Letter'] as const) {
      const pdf = await page.pdf({ format });
      expect(pdf.subarray(0, 5).toString()).toBe('%PDF-');
      const size = /\/MediaBox \[\s*0 0 ([\d.]+) ([\d.]+)/.exec(pdf.toString('latin1'));
      expect(Math.floor(Number(size?.[1]))).toBe(format === 'A4' ? 595 : 612);
    }
    await page.emulateMedia({ media: 'print' });
    await expect(entry(page, 'problem').getByRole('combobox')).toBeHidden();
    await expect(entry(page, 'problem').locator('.choice-printed')).toHaveText('Separation');
    await expect(page.locator('.page button.small').first()).toBeHidden();
    await expect(page.locator('.page-tools')).toBeHidden();
    await expect(page.locator('.contents')).toBeHidden();
    const wide = await page.evaluate(
      () =>
        [...document.querySelectorAll('.page figure')].filter(
          (each) => getComputedStyle(each).breakInside !== 'avoid',
        ).length,
    );
    expect(wide).toBe(0);
  });
});

test.describe('a page from someone else', () => {
  const HOSTILE = [
    '---\ntitle: "<img src=x onerror=window.hit=1>"\nsummary: "<script>window.hit=1</script>"\n---\n\n',
    '<script>window.hit = 1</script>\n\n<img src="http://203.0.113.1/x.png" onerror="window.hit=1">\n\n',
    '[press](javascript:window.hit=1) [this](data:text/html,<script>1</script>) ![p](http://203.0.113.1/p.png)\n\n',
    '<svg onload="window.hit=1"><a xlink:href="javascript:window.hit=1"><text>x</text></a></svg>\n\n',
    '<a href="JaVaScRiPt:window.hit=1">x</a> <iframe src="http://203.0.113.1"></iframe> <style>body{display:none}</style>\n\n',
    fenced('query reads', "SELECT * FROM read_csv('http://203.0.113.1/x.csv')"),
    fenced('query reads_too', "SELECT * FROM 'http://203.0.113.1/x.parquet'"),
    fenced('query many', 'SELECT 1 AS a; DROP TABLE herd_record.main.foot_row'),
    fenced('query settings', 'SELECT * FROM enable_profiling()'),
    fenced(
      'query markup',
      `SELECT '<img src=x onerror=window.hit=1>' AS a, 'TRUE; DROP TABLE herd_record.main.foot_row' AS behind`,
    ),
    fenced('table markup_table', 'of: markup\ncaption: "<img src=x onerror=window.hit=1>"'),
    fenced(
      'chart markup_chart',
      'data: markup\ntitle: "<script>window.hit=1</script>"\nmarks: [{mark: text, x: 1, y: 2, text: a}]',
    ),
  ].join('');

  test('touches neither network, storage nor document', async ({ page, watch }) => {
    await openPage(page, 'measurement');
    await drop(page, [pageFile('hostile.md', HOSTILE)]);
    await expect(page.getByRole('heading', { level: 1 })).toHaveText('<img src=x onerror=window.hit=1>');
    await settled(page);
    for (const name of ['reads_too'])
      await expect(entry(page, name)).toHaveAttribute('data-status', 'failed');
    await expect(page.locator('.page-problems')).toContainText('read_csv()');
    await expect(page.locator('.page-problems')).toContainText('a second statement begins with DROP');
    await expect(page.locator('.page-problems')).toContainText('enable_profiling()');
    await expect(entry(page, 'markup_table').locator('tbody')).toContainText('<img src=x');
    await entry(page, 'markup_table').locator('tbody button').first().click();
    await expect(page.getByTestId('rows-panel')).toContainText('one expression');
    await page.getByRole('button', { name: 'Close' }).click();
    expect(
      await page.locator('.page-text :is(img, svg, iframe, style, script, [onerror], [onload])').count(),
    ).toBe(0);
    expect(
      await page.locator('.page-text a[href^="javascript" i], .page-text a[href^="data" i]').count(),
    ).toBe(0);
    expect(await page.evaluate(() => (window as unknown as { hit?: number }).hit)).toBeUndefined();
    await page.getByRole('button', { name: 'Save or print' }).click();
    const file = await saved(page, () => page.getByRole('button', { name: 'Save as HTML' }).click());
    expect(file.bytes.toString()).not.toMatch(/<script|<img|<iframe|<[^>]+\son\w+=/i);
    expect(watch.foreign).toEqual([]);
    await openPage(page, 'caseload');
    await expect(page.locator('[data-status="failed"]')).toHaveCount(0);
  });

  test('a query without end can be stopped, and the page goes on', async ({ page }) => {
    const endless = [
      '---\ntitle: Endless\n---\n\n',
      fenced(
        'query endless',
        'WITH RECURSIVE r AS (SELECT 1 AS a UNION ALL SELECT (a + 1) % 1000 FROM r) SELECT count(*) AS n FROM r',
      ),
      fenced('query short', 'SELECT count(*) AS n FROM foot_visit'),
      fenced('table short_table', 'of: short'),
    ].join('');
    await openPage(page, 'measurement');
    await drop(page, [pageFile('endless.md', endless)]);
    await expect(entry(page, 'endless')).toHaveAttribute('data-status', 'running');
    await entry(page, 'endless').getByRole('button', { name: 'Cancel' }).click();
    await expect(entry(page, 'endless')).toContainText('Stopped before it was worked out.');
    await expect(entry(page, 'short')).toHaveAttribute('data-status', 'done');
  });
});
