// `npm run calibration`: how often the 95 % intervals of the shipped analyses hold the truth, over simulated herds
// whose truth is known. Prints a table and writes docs/calibration.md. `npm run calibration -- 20` takes 20 herds
// and only prints.
import { fork } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { TRUTH } from '../../data/truth.ts';
import { RETURN_DAYS, returnedBy, seenBy } from './measure-problems.ts';
import type { Measured } from './measured.ts';
import { calibrationPage } from './page.ts';
import type { Followed } from './simulated-herd.ts';
import { markdownTable, shareReturned, summarise } from './summary.ts';
import type { HerdMeasured } from './worker.ts';

const HERDS = 200;
const herds = Number(process.argv[2] ?? HERDS);
if (!Number.isInteger(herds) || herds < 2)
  throw new Error(`herds must be a whole number of 2 or more: ${process.argv[2]}`);

const measured: Measured[] = [];
const seen: Followed[] = [];
const any: Followed[] = [];
const started = Date.now();
let done = 0;

/** Herds `from` up to but not `to` in a process of their own; in the order of herds whatever the order of arrival. */
function measure(from: number, to: number): Promise<HerdMeasured[]> {
  return new Promise((resolve, reject) => {
    const results: HerdMeasured[] = [];
    const worker = fork(new URL('worker.ts', import.meta.url), [String(from), String(to)], {
      execArgv: ['--import', 'tsx'],
      serialization: 'advanced',
    });
    worker.on('message', (message) => {
      results.push(message as HerdMeasured);
      done++;
      if (done % 10 === 0)
        console.error(`${done} of ${herds} herds, ${Math.round((Date.now() - started) / 1000)} s`);
    });
    worker.on('error', reject);
    worker.on('exit', (code) => {
      if (code === 0) resolve(results);
      else reject(new Error(`herds ${from} to ${to - 1} ended with status ${code}`));
    });
  });
}

const workers = Math.min(availableParallelism(), 8, herds);
const first = (k: number) => 1 + Math.round((herds * k) / workers);
const parts = await Promise.all(Array.from({ length: workers }, (_, k) => measure(first(k), first(k + 1))));
for (const one of parts.flat()) {
  measured.push(...one.measured);
  seen.push(...one.returns.seen);
  any.push(...one.returns.any);
}
const truths = new Map(
  RETURN_DAYS.flatMap((days) => [
    [seenBy(days), shareReturned(seen, days)],
    [returnedBy(days), shareReturned(any, days)],
  ]),
);
const table = markdownTable(summarise(measured, truths));
console.log(table);
if (herds === HERDS) {
  const { version } = JSON.parse(readFileSync(new URL('../../package.json', import.meta.url), 'utf8'));
  const page = calibrationPage({
    table,
    herds,
    seed: TRUTH.seed,
    spells: seen.length,
    program: version,
    node: process.version,
    date: new Date().toISOString().slice(0, 10),
  });
  writeFileSync(new URL('../../docs/calibration.md', import.meta.url), page);
}
