import { openDelimited } from './csv-source.ts';
import type { Mapping } from './mapping.ts';
import { kindOf, proposeMapping } from './propose.ts';
import { sniffFormat } from './sniff.ts';
import { type OpenOptions, type RawCell, rawCell, type Source } from './source.ts';

export interface FileBytes {
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** A file as opened: what it seems to hold, for the user to look over. Clonable but for `source`, which may be large. */
export interface Inspection {
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
  return { source, mapping, rowCount: source.rowCount, sample };
}

async function openSource({ name, bytes }: FileBytes, options: OpenOptions): Promise<Source> {
  const format = sniffFormat(name, bytes);
  if (format === 'delimited') return openDelimited(name, bytes, options);
  const { openParquet } = await import('./parquet-source.ts');
  return openParquet(name, bytes, options);
}
