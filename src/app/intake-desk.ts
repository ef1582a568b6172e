import { countHerd, loadHerd, setToday } from '../analyses/load-herd.ts';
import type { CivilDay } from '../core/civil-day.ts';
import type { Engine } from '../engine/engine.ts';
import { combine } from '../intake/combine.ts';
import { delimiterName } from '../intake/delimiter.ts';
import { inspectFile } from '../intake/open.ts';
import { proposeMapping } from '../intake/propose.ts';
import { type Read, readSource } from '../intake/read.ts';
import { recallMapping } from '../intake/remembered.ts';
import type { FileReport } from '../intake/report.ts';
import type { Source } from '../intake/source.ts';
import { typedRow } from '../intake/typed-row.ts';
import { emptyHerd } from './empty-herd.ts';
import type { AdmitResult, Inspection, IntakeMethods } from './herd-service.ts';
import { summarise } from './herd-summary.ts';
import type { SheetMethods } from './sheet-service.ts';

/**
 * Opens files and admits their rows. What was loaded stays until a whole new herd stands: a file that cannot be
 * read, a mapping left open or a cancel changes nothing.
 */
export function intakeDesk(
  engine: Engine,
  today: CivilDay,
): IntakeMethods & Pick<SheetMethods, 'startBlank' | 'setAsideCells'> {
  const opened = new Map<string, Source>();
  let reads: readonly Read[] = [];

  return {
    async inspect({ files, remembered }, { signal, progress }): Promise<Inspection[]> {
      const inspections: Inspection[] = [];
      const sources = new Map<string, Source>();
      for (const [k, file] of files.entries()) {
        progress(k / files.length, `Reading ${file.name}`);
        const { source, mapping, rowCount } = await inspectFile(file, {
          signal,
          progress: (fraction) => progress((k + fraction) / files.length, `Reading ${file.name}`),
        });
        sources.set(file.name, source);
        inspections.push({
          file: file.name,
          format: source.format,
          encoding: source.encoding?.encoding ?? null,
          delimiter: source.delimiter ? delimiterName(source.delimiter.delimiter) : null,
          rowCount,
          ...recallMapping(source, mapping, remembered),
        });
      }
      opened.clear();
      for (const [name, source] of sources) opened.set(name, source);
      return inspections;
    },

    async repropose({ file, kind }) {
      return proposeMapping(sourceOf(file), kind);
    },

    async admit({ files, add, hemisphere }, { signal, progress }): Promise<AdmitResult> {
      const fresh: Read[] = [];
      for (const [k, { file, mapping, as }] of files.entries()) {
        const step = (fraction: number): void =>
          progress((0.6 * (k + fraction)) / files.length, `Checking the rows of ${file}`);
        step(0);
        const source = { ...sourceOf(file), file: as ?? file };
        fresh.push(await readSource(source, mapping, { today, signal, progress: step }));
      }
      const all = add ? [...reads, ...fresh] : fresh;
      progress(0.6, 'Looking for repeats across files');
      const { admitted, horses, setAside, report } = combine(all);
      if (!report.identityHolds)
        throw new Error('rows read must equal rows admitted and set aside: please report this');
      if (admitted.rowCount === 0) throw new Error(nothingAdmitted(report.files));
      signal.throwIfAborted();
      progress(0.75, 'Loading the herd');
      await loadHerd(engine, { visits: admitted, horses }, { hemisphere });
      const asOf = await setToday(engine, today);
      reads = all;
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
      return countHerd(engine);
    },

    async setAsideCells({ file, line, foot }) {
      const read = reads.find((one) => one.source.file === file && one.kind === 'visits');
      return read ? typedRow(read.source, read.mapping, { line, foot }, today) : null;
    },
  };

  function sourceOf(file: string): Source {
    const source = opened.get(file);
    if (!source) throw new Error(`${file} is no longer open: choose it again`);
    return source;
  }
}

function nothingAdmitted(files: readonly FileReport[]): string {
  const setAside = files.reduce((sum, f) => sum + (f.kind === 'visits' ? f.setAside : 0), 0);
  return setAside > 0
    ? `None of the visits could be admitted: ${setAside} rows were set aside. Look at how the columns are read.`
    : 'These files hold no visits. Choose the file of visit records as well.';
}
