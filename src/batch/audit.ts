import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { analysisNamed } from '../analyses/index.ts';
import { loadHerdInParts, setToday } from '../analyses/load-herd.ts';
import { makeMemory } from '../analyses/memory.ts';
import { type CivilDay, localToday } from '../core/civil-day.ts';
import type { Engine } from '../engine/engine.ts';
import { hasNativeEngine, openNativeEngine } from '../engine/native-engine.ts';
import { openNodeEngine } from '../engine/node-engine.ts';
import { HERD_CATALOG } from '../herd/herd-names.ts';
import { tableToCsv } from '../intake/csv-out.ts';
import { type AuditArguments, auditArguments, UnusableInput, USAGE } from './arguments.ts';
import { AUDIT_PLAN } from './audit-plan.ts';
import { Books } from './books.ts';
import { findingsText } from './findings-text.ts';
import { readRecord } from './read-record.ts';
import { givenRecord } from './record-parts.ts';
import { openFolder, type Ran, writeTables } from './write-results.ts';

/** The audit command. Returns the exit status; what it prints goes to the two functions. */
export async function audit(
  words: readonly string[],
  say: (line: string) => void,
  complain: (line: string) => void,
  today: CivilDay = localToday(),
): Promise<number> {
  try {
    const given = auditArguments(words);
    if (!given) {
      say(USAGE);
      return 0;
    }
    await run(given, say, today);
    return 0;
  } catch (error) {
    if (!(error instanceof UnusableInput)) throw error;
    complain(error.message);
    return 2;
  }
}

async function run(given: AuditArguments, say: (line: string) => void, today: CivilDay): Promise<void> {
  const { parts, isFolder } = await givenRecord(given);
  await openFolder(given.out);
  const books = new Books();
  // Before the engine is started: most of what cannot be used shows here.
  const reading = await begun(readRecord(parts, given.dates, today, books));
  if (parts.length === 1) refuseNoRows(given, books);
  const engine = await openEngine(given, isFolder);
  try {
    await loadHerdInParts(engine, reading, given);
    refuseNoRows(given, books);
    const { report } = books;
    say(`${report.rowsRead} rows read = ${report.admitted} admitted + ${report.setAside} set aside`);
    await setToday(engine, today);
    const ran: Ran[] = [];
    const { remember } = makeMemory().over('the whole herd');
    for (const planned of AUDIT_PLAN) {
      const analysis = analysisNamed(planned.use);
      const context = {
        engine,
        today,
        lengths: 'mm' as const,
        signal: new AbortController().signal,
        progress: () => undefined,
        remember,
      };
      ran.push({ planned, result: await analysis.run(analysis.options.parse(planned.options), context) });
      say(`${planned.title}: done`);
    }
    const written = await writeTables(given.out, ran);
    await writeFile(join(given.out, 'set-aside.csv'), tableToCsv(books.setAside));
    await writeFile(join(given.out, 'findings.md'), findingsText(ran, report));
    const estimates = written.filter((name) => !name.includes('/'));
    say(`In ${given.out}: ${['findings.md', 'set-aside.csv', ...estimates].join(', ')}`);
    say(`and ${written.length - estimates.length} tables behind them in ${join(given.out, 'tables')}`);
  } finally {
    await engine.close();
  }
}

/** The same parts, the first of them asked for at once, and let go of like the others. */
async function begun<T>(parts: AsyncGenerator<T>): Promise<AsyncGenerator<T>> {
  let first: IteratorResult<T, unknown> | null = await parts.next();
  async function* all(): AsyncGenerator<T> {
    if (first && !first.done) yield first.value;
    first = null;
    yield* parts;
  }
  return all();
}

function refuseNoRows({ files }: AuditArguments, { report }: Books): void {
  if (report.files.some(({ kind, admitted }) => kind === 'visits' && admitted > 0)) return;
  throw new UnusableInput(
    `none of the rows of ${files.join(', ')} could be admitted: ${report.setAside} were set aside`,
  );
}

/** Files are answered as in the browser; a folder, which may be any size, by the native engine where it is installed. */
async function openEngine({ engine, memory, room }: AuditArguments, isFolder: boolean): Promise<Engine> {
  if (engine === 'native' && !hasNativeEngine()) {
    throw new UnusableInput('--engine native needs the package @duckdb/node-api, which is not installed');
  }
  const native = engine === 'native' || (engine === null && isFolder && hasNativeEngine());
  if (!native) return openNodeEngine();
  return openNativeEngine({
    onDisk: HERD_CATALOG,
    ...(memory !== null && { memoryLimit: memory }),
    ...(room !== null && { temporary: room }),
  });
}
