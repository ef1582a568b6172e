import type { Browser } from '@playwright/test';
import { REPEATS } from './measure.ts';
import { installProbe } from './probe.ts';
import type { Measurement } from './results.ts';
import type { Sent, Served } from './served.ts';

const isEngine = ({ path }: Sent): boolean => /duckdb/.test(path);
const isScript = ({ path }: Sent): boolean => /\.m?js(\?|$)/.test(path);
const kB = (sent: readonly Sent[]): number => sent.reduce((sum, { bytes }) => sum + bytes, 0) / 1000;

/** The first visit, nothing cached, from this machine's own server: five times, each in a profile of its own. */
export async function measureFirstLoad(browser: Browser, served: Served): Promise<Measurement[]> {
  const text: number[] = [];
  const plot: number[] = [];
  const before: number[] = [];
  let sent: readonly Sent[] = [];
  for (let k = 0; k < REPEATS; k++) {
    const context = await browser.newContext();
    context.setDefaultTimeout(120_000);
    await installProbe(context);
    served.sent.length = 0;
    const page = await context.newPage();
    await page.goto(served.address);
    await page.waitForFunction(() => window.bench.first.plot !== null && window.bench.first.text !== null);
    const first = await page.evaluate(() => window.bench.first);
    text.push(first.text!);
    plot.push(first.plot!);
    sent = [...served.sent];
    before.push(scriptBefore(served));
    await context.close();
  }
  const application = sent.filter((each) => isScript(each) && !isEngine(each));
  // A page without scripts draws nothing: then it is the record of what was sent that is wrong.
  if (application.length === 0) throw new Error('no script was seen on its way');
  const others = sent.filter((each) => !isScript(each) && !isEngine(each));
  const size = (key: string, what: string, of: readonly Sent[]): Measurement => ({
    key: `browser ${key}`,
    what,
    unit: 'kB',
    values: [kB(of)],
    note: `${of.length} files`,
  });
  return [
    { key: 'browser first text', what: 'First visit until text can be read', unit: 'ms', values: text },
    {
      key: 'browser first plot',
      what: 'First visit until the first plot is drawn',
      unit: 'ms',
      values: plot,
    },
    {
      key: 'browser script before',
      what: 'Application JavaScript asked for before the engine, as gzip',
      unit: 'kB',
      values: before,
    },
    size('script', 'Application JavaScript until the first plot, as sent', application),
    size('engine', 'The engine, as sent', sent.filter(isEngine)),
    size('rest', 'Document, styles, Parquet library, the demo herd, as sent', others),
  ];
}

/** Gzip, in kB, of the application's scripts that were asked for before anything of the engine was. */
function scriptBefore(served: Served): number {
  const engineAt = served.sent.findIndex(isEngine);
  if (engineAt < 0) throw new Error('the engine was not seen on its way');
  const scripts = served.sent.slice(0, engineAt).filter(isScript);
  return scripts.reduce((sum, { path }) => sum + served.gzipBytes(path), 0) / 1000;
}
