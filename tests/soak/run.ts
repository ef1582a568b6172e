// `npm run soak`: bad files by the thousand through intake, and herds of every odd shape through every analysis. Prints
// one table; ends with status 1 where anything was lost. `npm run soak -- files 500`, `-- herds 20 7000` (20 from number
// 7000): one part alone, so many, from so far on; the same numbers are the same cases. `GROWOUT_SOAK_WORKERS` says how many processes.
import { availableParallelism } from 'node:os';
import type { Part } from './messages.ts';
import { Tally } from './tally.ts';
import { watchCases } from './watch.ts';

const CASES: Readonly<Record<Part, number>> = { files: 10_000, herds: 5_000 };
const [only, many, start = '0'] = process.argv.slice(2);
if (only !== undefined && !(only in CASES)) throw new Error(`the part must be files or herds: ${only}`);
const workers = Number(process.env.GROWOUT_SOAK_WORKERS ?? Math.min(availableParallelism(), 8));

const tally = new Tally();
const began = Date.now();
for (const part of Object.keys(CASES) as Part[]) {
  if (only !== undefined && only !== part) continue;
  const cases = Number(many ?? CASES[part]);
  const first = Number(start);
  if (!Number.isInteger(cases) || cases < 1) throw new Error(`cases must be a whole number above 0: ${many}`);
  let done = 0;
  const watched = {
    done: ({
      n,
      what,
      ms,
      faults,
      counts,
    }: {
      n: number;
      what: string;
      ms: number;
      faults: readonly string[];
      counts: Readonly<Record<string, number>>;
    }) => {
      tally.add(part, what, faults.length === 0, ms, counts);
      if (part === 'files' || what === 'random herd') {
        for (const fault of faults) console.error(`${part} ${n}, ${what}: ${fault}`);
        done++;
        if (done % 500 === 0)
          console.error(`${part}: ${done} of ${cases}, ${Math.round((Date.now() - began) / 1000)} s`);
      }
    },
    lost: (n: number, what: string, words: string) => {
      tally.add(part, what, false);
      console.error(`${part} ${n}, ${what}: ${words}`);
    },
  };
  const share = (k: number): number => first + Math.round((cases * k) / workers);
  await Promise.all(
    Array.from({ length: workers }, (_, k) => watchCases(part, share(k), share(k + 1), watched)),
  );
}
console.log(tally.table());
console.log(`${tally.failed()} failed, ${Math.round((Date.now() - began) / 1000)} s`);
process.exitCode = tally.failed() === 0 ? 0 : 1;
