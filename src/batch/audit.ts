import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { analysisNamed } from '../analyses/index.ts';
import { loadHerd, setToday } from '../analyses/load-herd.ts';
import { makeMemory } from '../analyses/memory.ts';
import { type CivilDay, localToday } from '../core/civil-day.ts';
import { openNodeEngine } from '../engine/node-engine.ts';
import { tableToCsv } from '../intake/csv-out.ts';
import { type AuditArguments, auditArguments, UnusableInput, USAGE } from './arguments.ts';
import { AUDIT_PLAN } from './audit-plan.ts';
import { findingsText } from './findings-text.ts';
import { readFiles } from './read-files.ts';
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
  await openFolder(given.out);
  const { visits, horses, setAside, report } = await readFiles(given, today);
  say(`${report.rowsRead} rows read = ${report.admitted} admitted + ${report.setAside} set aside`);
  const engine = await openNodeEngine();
  try {
    await loadHerd(engine, { visits, horses }, { hemisphere: given.hemisphere });
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
    await writeFile(join(given.out, 'set-aside.csv'), tableToCsv(setAside));
    await writeFile(join(given.out, 'findings.md'), findingsText(ran, report));
    const estimates = written.filter((name) => !name.includes('/'));
    say(`In ${given.out}: ${['findings.md', 'set-aside.csv', ...estimates].join(', ')}`);
    say(`and ${written.length - estimates.length} tables behind them in ${join(given.out, 'tables')}`);
  } finally {
    await engine.close();
  }
}
