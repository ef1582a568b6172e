/**
 * `npx tsx tests/bench/phases.ts --rows 100000 [--pages growth,clients]`: where the time of a change to a cohort never seen
 * before goes, page by page, as a table. Which thread worked when is what the browser's own profiler saw, which itself
 * slows everything: shares of a line can be compared, times not with those of the bench.
 */
import { parseArgs } from 'node:util';
import { chromium } from '@playwright/test';
import { CHROMIUM_ARGUMENTS, chromiumPath } from '../../src/tasks/chromium.mjs';
import { herdFiles } from './herds.ts';
import { changeTraced } from './in-pages.ts';
import { loadFile } from './load-file.ts';
import { shippedPages } from './page-desk.ts';
import { serveBuilt } from './served.ts';
import { busyThreads, type TraceEvent } from './threads.ts';
import { markdownTable } from './words.ts';

const { values } = parseArgs({
  options: { rows: { type: 'string', default: '100000' }, pages: { type: 'string', default: '' } },
});
const CATEGORIES = ['disabled-by-default-v8.cpu_profiler', '__metadata'];
const wanted = values.pages.split(',').filter((id) => id !== '');
const folder = await herdFiles(Number(values.rows));
const served = await serveBuilt();
const browser = await chromium.launch({ executablePath: await chromiumPath(), args: CHROMIUM_ARGUMENTS });
const { page: tab } = await loadFile(browser, served, folder, 'parquet');
await tab.getByRole('button', { name: 'To the pages' }).click();
const lines: string[][] = [];
for (const [place, shipped] of shippedPages().entries()) {
  if (wanted.length > 0 && !wanted.includes(shipped.id)) continue;
  const { ms, traced } = await changeTraced(tab, shipped.id, place, {
    begin: () => browser.startTracing(tab, { categories: CATEGORIES }),
    end: () => browser.stopTracing(),
  });
  const { traceEvents } = JSON.parse(traced.toString()) as { traceEvents: TraceEvent[] };
  const { engine, estimators, twoEstimators, both, drawing } = busyThreads(traceEvents);
  lines.push([
    shipped.page.front.title,
    ...[ms, engine, estimators, twoEstimators, both, drawing].map((each) => each.toFixed(0)),
  ]);
  console.error(lines.at(-1)!.join(' | '));
}
console.log(
  markdownTable(
    [
      'page',
      'change, ms',
      'the engine worked',
      'estimators worked',
      'in two threads',
      'engine and estimators at once',
      'only the page drew',
    ],
    lines,
  ),
);
await browser.close();
await served.close();
process.exit(0);
