// One part of the soak, from one number up to another, in a process of its own that may be ended when it hangs.
import { loadHerd } from '../../src/analyses/load-herd.ts';
import { numbers } from '../../src/core/table.ts';
import type { Engine } from '../../src/engine/engine.ts';
import { openNodeEngine } from '../../src/engine/node-engine.ts';
import { seededRandom } from '../../src/stats/random.ts';
import { goodFaults, goodFiles, openParquetCodec } from './good-files.ts';
import { askHerd } from './herd-case.ts';
import { badFile, type IntakeOutcome, offer } from './intake-case.ts';
import type { Message, Part } from './messages.ts';

const [part, from, to] = [process.argv[2] as Part, Number(process.argv[3]), Number(process.argv[4])];
const tell = (message: Message): void => {
  process.send?.(message);
};
process.on('uncaughtException', (error) => {
  tell({ kind: 'crash', words: String(error.stack ?? error) });
  process.exit(1);
});

/** One file in so many goes on into the database. */
const LOAD_EVERY = 10;

async function loadFaults(engine: Engine, { combined, admitted }: IntakeOutcome): Promise<string[]> {
  if (!combined || combined.admitted.rowCount === 0) return [];
  await loadHerd(engine, { visits: combined.admitted, horses: combined.horses }, { hemisphere: 'north' });
  const stored = numbers(await engine.query('SELECT count(*) AS n FROM foot_visit'), 'n')[0];
  return stored === combined.admitted.rowCount
    ? []
    : [`${stored} rows in the database, ${admitted} admitted`];
}

async function files(): Promise<void> {
  await openParquetCodec();
  const engine = await openNodeEngine();
  const good = await goodFiles();
  for (let n = from; n < to; n++) {
    const file = await badFile(n);
    tell({ kind: 'start', n, what: file.kind });
    const started = performance.now();
    const outcome = await offer(file, seededRandom(n));
    const ms = performance.now() - started;
    const faults = [...outcome.faults, ...(await goodFaults(good))];
    if (n % LOAD_EVERY === 0) {
      faults.push(...(await loadFaults(engine, outcome).catch((error) => [`loading threw ${error}`])));
    }
    const { rowsRead, admitted, setAside } = outcome;
    const numbersOf = {
      [outcome.outcome]: 1,
      rowsRead,
      admitted,
      setAside,
      lost: rowsRead - admitted - setAside,
    };
    tell({ kind: 'done', outcome: { part, n, kinds: [file.kind], ms, faults, counts: numbersOf } });
  }
}

async function herds(): Promise<void> {
  const engine = await openNodeEngine();
  for (let n = from; n < to; n++) {
    tell({ kind: 'start', n, what: 'random herd' });
    const started = performance.now();
    const { departures, numbers: answered, sentences, faults } = await askHerd(engine, n);
    const ms = performance.now() - started;
    const counts = { answered, sentences };
    tell({ kind: 'done', outcome: { part, n, kinds: departures, ms, faults, counts } });
  }
}

await (part === 'files' ? files() : herds());
process.exit(0);
