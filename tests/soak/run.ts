// `npm run soak`: bad files by the thousand through intake, herds of every odd shape through every analysis, and in the
// browser threads ended and tabs killed in the middle of something. Prints one table; ends with status 1 where anything
// was lost. `npm run soak -- files 500`, `-- herds 20 7000` (20 from number 7000): one part alone, so many, from so far
// on; the same numbers are the same cases. `GROWOUT_SOAK_WORKERS` says how many processes. `GROWOUT_SOAK_LEDGER` names a
// file where every case is kept: what stands in it is not tried again, and is told in the table.
import { availableParallelism } from 'node:os';
import { browserCases } from './browser-cases.ts';
import { Ledger, runsToDo } from './ledger.ts';
import { type Outcome, PARTS, type Part } from './messages.ts';
import { failed, tableOf } from './tally.ts';
import { watchCases } from './watch.ts';

const CASES: Readonly<Record<Part, number>> = { files: 10_000, herds: 5_000, faults: 200, kills: 50 };
const [only, many, start = '0'] = process.argv.slice(2);
if (only !== undefined && !(only in CASES))
  throw new Error(`the part must be one of ${PARTS.join(', ')}: ${only}`);
const workers = Number(process.env.GROWOUT_SOAK_WORKERS ?? Math.min(availableParallelism(), 8));
const ledger = new Ledger(process.env.GROWOUT_SOAK_LEDGER ?? null);
const began = Date.now();
const seconds = (): number => Math.round((Date.now() - began) / 1000);

let done = 0;
function tell(outcome: Outcome): void {
  ledger.add(outcome);
  const { part, n, kinds, faults } = outcome;
  for (const fault of faults) console.error(`${part} ${n}, ${kinds.join(', ')}: ${fault}`);
  if (++done % 500 === 0) console.error(`${done} done, ${part} ${n}, ${seconds()} s`);
}

for (const part of PARTS) {
  if (only !== undefined && only !== part) continue;
  const cases = Number(many ?? CASES[part]);
  const first = Number(start);
  if (!Number.isInteger(cases) || cases < 1) throw new Error(`cases must be a whole number above 0: ${many}`);
  if (part === 'faults' || part === 'kills') {
    await browserCases(part, first, cases, ledger, tell);
    continue;
  }
  const runs = runsToDo(first, cases, workers, (n) => ledger.has(part, n));
  const next = async (): Promise<void> => {
    for (let run = runs.shift(); run; run = runs.shift()) await watchCases(part, run[0], run[1], tell);
  };
  await Promise.all(Array.from({ length: workers }, next));
}
console.log(tableOf(ledger.all()));
console.log(`${failed(ledger.all())} failed, ${seconds()} s`);
process.exitCode = failed(ledger.all()) === 0 ? 0 : 1;
