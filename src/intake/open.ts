import { openDelimited } from './csv-source.ts';
import type { Mapping } from './mapping.ts';
import { kindOf, proposeMapping } from './propose.ts';
import { IntakeRefusal, type RefusalReason } from './refusal.ts';
import { sniffFormat } from './sniff.ts';
import { type OpenOptions, type RawCell, rawCell, rowsInFile, type Source } from './source.ts';

interface FileBytes {
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** A file as opened: what it seems to hold, for the user to look over. Clonable but for `source`, which may be large. */
interface Inspection {
  readonly source: Source;
  readonly mapping: Mapping;
  readonly rowCount: number;
  readonly sample: readonly (readonly RawCell[])[];
}

const SAMPLE_ROWS = 5;

/** Reads a file whole and proposes what its columns are. Throws `IntakeRefusal` for a file that is not what it says. */
export async function inspectFile(file: FileBytes, options: OpenOptions = {}): Promise<Inspection> {
  const source = await openSource(file, options);
  const mapping = proposeMapping(source, kindOf(source));
  const sample = Array.from({ length: Math.min(SAMPLE_ROWS, source.rowCount) }, (_, row) =>
    source.columns.map((column) => rawCell(column, row)),
  );
  return { source, mapping, rowCount: rowsInFile(source), sample };
}

/** A file that cannot be read, and why; `sentence` is for people and names the file. */
interface Refused {
  readonly file: string;
  readonly reason: RefusalReason;
  readonly sentence: string;
}

interface FilesOptions {
  readonly signal?: AbortSignal;
  /** Share of all the files read, 0–1, and the file under way. */
  readonly progress?: (fraction: number, file: string) => void;
}

/** Reads several files: the good ones are inspected, the others told beside them. Throws on a cancel. */
export async function inspectFiles(
  files: readonly FileBytes[],
  { signal, progress }: FilesOptions = {},
): Promise<{ readonly inspections: readonly Inspection[]; readonly refusals: readonly Refused[] }> {
  const inspections: Inspection[] = [];
  const refusals: Refused[] = [];
  for (const [k, file] of files.entries()) {
    const step = (fraction: number): void => progress?.((k + fraction) / files.length, file.name);
    step(0);
    try {
      inspections.push(await inspectFile(file, { ...(signal && { signal }), progress: step }));
    } catch (error) {
      if (!(error instanceof IntakeRefusal)) throw error;
      refusals.push({ file: file.name, reason: error.reason, sentence: error.sentence });
    }
  }
  return { inspections, refusals };
}

async function openSource({ name, bytes }: FileBytes, options: OpenOptions): Promise<Source> {
  const format = sniffFormat(name, bytes);
  if (format === 'delimited') return openDelimited(name, bytes, options);
  const { openParquet } = await import('./parquet-source.ts');
  return openParquet(name, bytes, options);
}
