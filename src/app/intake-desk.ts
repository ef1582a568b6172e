import { isLarge } from '../analyses/large-herd.ts';
import { countHerd, loadHerd, setToday } from '../analyses/load-herd.ts';
import type { CivilDay } from '../core/civil-day.ts';
import { cellAt, numbers, type Table, texts } from '../core/table.ts';
import type { Engine } from '../engine/engine.ts';
import { combine } from '../intake/combine.ts';
import { delimiterName } from '../intake/delimiter.ts';
import { inspectFiles } from '../intake/open.ts';
import { proposeMapping } from '../intake/propose.ts';
import { type Read, readSource } from '../intake/read.ts';
import { recallMapping } from '../intake/remembered.ts';
import type { FileReport } from '../intake/report.ts';
import { typedRow } from '../intake/typed-row.ts';
import { emptyHerd } from './empty-herd.ts';
import type { AdmitResult, Inspection, IntakeMethods } from './herd-service.ts';
import { summarise } from './herd-summary.ts';
import { type KeptRead, keptRead, type OpenedFile, openedFile } from './kept-reads.ts';
import type { SheetMethods } from './sheet-service.ts';

/**
 * Opens files and admits their rows. What was loaded stays until a whole new herd stands: a file that cannot be
 * read, a mapping left open or a cancel changes nothing. Files of so many rows that they are heavy are read again where
 * they are wanted once more.
 */
export function intakeDesk(
  engine: Engine,
  today: CivilDay,
  isHeavy: (rowCount: number) => boolean = isLarge,
): IntakeMethods & Pick<SheetMethods, 'startBlank' | 'setAsideCells'> {
  const opened = new Map<string, OpenedFile>();
  let reads: readonly KeptRead[] = [];
  /** Null while nothing has been loaded. */
  let standing: 'north' | 'south' | null = null;

  /** What stood before a load that failed or was stopped half way. */
  async function loadAgain(): Promise<void> {
    if (standing === null) return;
    const stood = reads.length === 0 ? emptyHerd() : combine(await readsAgain());
    await loadHerd(engine, stood, { hemisphere: standing });
    await setToday(engine, today);
  }

  return {
    async inspect({ files, remembered }, { signal, progress }) {
      const { inspections: read, refusals } = await inspectFiles(files, {
        signal,
        progress: (fraction, name) => progress(fraction, `Reading ${name}`),
      });
      if (read.length > 0) opened.clear();
      const inspections = read.map(({ source, mapping, rowCount }): Inspection => {
        const file = isHeavy(source.rowCount)
          ? files.find(({ name }) => name === source.file)?.file
          : undefined;
        opened.set(source.file, openedFile(source, file));
        return {
          file: source.file,
          format: source.format,
          encoding: source.encoding?.encoding ?? null,
          delimiter: source.delimiter ? delimiterName(source.delimiter.delimiter) : null,
          rowCount,
          ...recallMapping(source, mapping, remembered),
        };
      });
      return { inspections, refusals: refusals.map(({ sentence }) => sentence) };
    },

    async repropose({ file, kind }) {
      return proposeMapping(await openedAs(file).source(), kind);
    },

    async admit({ files, add, hemisphere }, { signal, progress }): Promise<AdmitResult> {
      const fresh: Read[] = [];
      for (const [k, { file, mapping, as }] of files.entries()) {
        const step = (fraction: number): void =>
          progress((0.6 * (k + fraction)) / files.length, `Checking the rows of ${file}`);
        step(0);
        const source = { ...(await openedAs(file).source()), file: as ?? file };
        fresh.push(await readSource(source, mapping, { today, signal, progress: step }));
      }
      const all = add ? [...(await readsAgain()), ...fresh] : fresh;
      progress(0.6, 'Looking for repeats across files');
      const { visits, horses, setAside, report } = combine(all);
      if (!report.identityHolds)
        throw new Error('rows read must equal rows admitted and set aside: please report this');
      if (visits.rowCount === 0) throw new Error(nothingAdmitted(report.files, setAside));
      signal.throwIfAborted();
      progress(0.75, 'Loading the herd');
      try {
        await loadHerd(engine, { visits, horses }, { hemisphere });
        signal.throwIfAborted();
      } catch (error) {
        await loadAgain();
        throw signal.aborted ? error : tooLarge(error);
      }
      standing = hemisphere;
      const asOf = await setToday(engine, today);
      const sources = [
        ...(add ? reads.map((read) => read.opened) : []),
        ...files.map(({ file }) => openedAs(file).lightened()),
      ];
      const lines = linesByFile(setAside);
      reads = all.map((read, k) => keptRead(read, sources[k]!, lines.get(read.source.file), today));
      for (const { file } of files) opened.set(file, openedAs(file).lightened());
      return {
        books: report.files,
        notices: report.notices,
        setAside,
        asOf,
        summary: await summarise(engine),
      };
    },

    async startBlank({ hemisphere }) {
      await loadHerd(engine, emptyHerd(), { hemisphere });
      await setToday(engine, today);
      reads = [];
      standing = hemisphere;
      return countHerd(engine);
    },

    async setAsideCells({ file, line, foot }) {
      const read = reads.find((one) => one.source.file === file && one.kind === 'visits');
      return read ? typedRow(read.source, read.mapping, { line, foot }, today) : null;
    },
  };

  function readsAgain(): Promise<Read[]> {
    return Promise.all(reads.map((read) => read.whole()));
  }

  function openedAs(file: string): OpenedFile {
    const found = opened.get(file);
    if (!found) throw new Error(`${file} is no longer open: choose it again`);
    return found;
  }
}

function nothingAdmitted(files: readonly FileReport[], setAside: Table): string {
  const rows = files.reduce((sum, f) => sum + (f.kind === 'visits' ? f.setAside : 0), 0);
  return rows > 0
    ? `None of the visits could be admitted: ${rows} rows were set aside. ${commonestReason(setAside)} Look at how the columns are read.`
    : 'These files hold no visits. Choose the file of visit records as well.';
}

/** Lines of the rows that were set aside. */
function linesByFile(setAside: Table): ReadonlyMap<string, ReadonlySet<number>> {
  const lines = new Map<string, Set<number>>();
  const [files, line] = [texts(setAside, 'file'), numbers(setAside, 'line')];
  files.forEach((file, row) => {
    const name = String(file);
    lines.set(name, (lines.get(name) ?? new Set()).add(line[row]!));
  });
  return lines;
}

/** What was wrong most often, whatever the value, with one value and what would be accepted. */
function commonestReason(setAside: Table): string {
  const seen = new Map<string, { row: number; times: number }>();
  for (let row = 0; row < setAside.rowCount; row++) {
    const [rule] = String(cellAt(setAside, 'reason', row)).split(': ');
    const key = `${cellAt(setAside, 'column', row)}: ${rule}`;
    const one = seen.get(key) ?? { row, times: 0 };
    one.times += 1;
    seen.set(key, one);
  }
  const [most] = [...seen.values()].sort((a, b) => b.times - a.times);
  if (!most) return '';
  const text = (name: string): string => String(cellAt(setAside, name, most.row) ?? '');
  const where = text('column') === '' ? '' : `“${text('column')}”: `;
  return `Most often ${where}${text('reason')}; accepted: ${text('accepted')}.`;
}

/** The engine's own words for want of memory help nobody. */
function tooLarge(error: unknown): unknown {
  const text = error instanceof Error ? error.message : String(error);
  return /out of memory|could not allocate|memory access/i.test(text)
    ? new Error(
        'These records are too large for this browser’s memory. What was open before is still open. Try fewer years or fewer columns, or the Parquet file.',
      )
    : error;
}
