import type { Column } from '../core/table.ts';
import { type ParquetPart, readParquet } from '../engine/parquet.ts';
import { headerNames } from './csv-source.ts';
import { IntakeRefusal } from './refusal.ts';
import { breathe, ColumnCollector, type OpenOptions, type RawCell, type Source } from './source.ts';

/** Reads a Parquet file (its codec initialised by the app). Throws `IntakeRefusal`; a row's line is its number. */
export async function openParquet(
  file: string,
  bytes: Uint8Array,
  options: OpenOptions = {},
): Promise<Source> {
  let names: string[] = [];
  let types: Column['type'][] = [];
  let collectors: ColumnCollector[] = [];
  let rowCount = 0;
  for await (const part of parts(file, bytes)) {
    const columns = Object.entries(part.table.columns);
    if (collectors.length === 0) {
      names = headerNames(
        file,
        columns.map(([name]) => name),
      );
      types = columns.map(([, column]) => column.type);
      collectors = columns.map(() => new ColumnCollector());
    }
    columns.forEach(([, column], i) => {
      const collector = collectors[i] as ColumnCollector;
      for (const value of column.values) collector.push(missingAsNull(value));
    });
    rowCount = part.rowsRead;
    options.progress?.(part.rowCount === 0 ? 1 : part.rowsRead / part.rowCount);
    await breathe(options.signal);
  }
  if (rowCount === 0) throw new IntakeRefusal(file, 'no-rows', `${file} has columns but no rows.`);
  return {
    file,
    format: 'parquet',
    encoding: null,
    delimiter: null,
    hasHeader: true,
    titles: [],
    columns: collectors.map((c, i) => c.done(names[i] as string, types[i] as Column['type'])),
    rowCount,
    lines: Int32Array.from({ length: rowCount }, (_, row) => row + 1),
    broken: new Map(),
  };
}

function missingAsNull(value: RawCell): RawCell {
  return typeof value === 'number' && Number.isNaN(value) ? null : value;
}

async function* parts(file: string, bytes: Uint8Array): AsyncGenerator<ParquetPart> {
  try {
    yield* readParquet(bytes);
  } catch (error) {
    const message = error instanceof Error ? error.message : String(error);
    if (/must be initialised/.test(message)) throw error;
    const column = /^column (.+?) has a type/.exec(message)?.[1];
    if (column !== undefined) {
      const sentence = `${file}: the column “${column}” is of a type that cannot be read; export it as text, a number or a date.`;
      throw new IntakeRefusal(file, 'unreadable-column', sentence);
    }
    throw new IntakeRefusal(
      file,
      'unreadable-parquet',
      `${file} is a damaged Parquet file; export or copy it again.`,
    );
  }
}
