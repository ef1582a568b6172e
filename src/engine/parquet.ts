import init, {
  Compression,
  type InitInput,
  ParquetFile,
  Table as WasmTable,
  WriterPropertiesBuilder,
  writeParquet as writeWasm,
} from 'parquet-wasm/esm';
import type { Table } from '../core/table.ts';
import { decodeArrow, encodeArrow } from './arrow.ts';

let ready: Promise<unknown> | null = null;

/** Loads the codec once: in the browser an address on our own origin, in Node the bytes of the wasm file. */
export async function initParquet(wasm: URL | string | BufferSource): Promise<void> {
  ready ??= init({ module_or_path: wasm as InitInput });
  try {
    await ready;
  } catch (error) {
    ready = null;
    throw error;
  }
}

async function codec(): Promise<void> {
  if (!ready) throw new Error('parquet must be initialised first: call initParquet');
  await ready;
}

export interface ParquetPart {
  readonly table: Table;
  /** Rows handed out so far, with this part. */
  readonly rowsRead: number;
  readonly rowCount: number;
}

/**
 * Reads a Parquet file one row group at a time; an empty file gives one part without rows. Numbers and decimals come
 * as numbers, dates as days, timestamps as ISO text in UTC. Throws on damaged files and on columns of other types.
 */
export async function* readParquet(bytes: Uint8Array): AsyncGenerator<ParquetPart> {
  await codec();
  const file = await ParquetFile.fromFile(new Blob([bytes as Uint8Array<ArrayBuffer>]));
  try {
    const metadata = file.metadata();
    const groups = metadata.rowGroups().map((group) => group.numRows());
    const rowCount = groups.reduce((sum, n) => sum + n, 0);
    let rowsRead = 0;
    for (let group = 0; group < Math.max(groups.length, 1); group++) {
      const read = groups.length === 0 ? {} : { rowGroups: [group], batchSize: groups[group] as number };
      const table = decodeArrow((await file.read(read)).intoIPCStream());
      rowsRead += table.rowCount;
      yield { table, rowsRead, rowCount };
    }
  } finally {
    file.free();
  }
}

/** A table as a Parquet file: numbers as doubles, days as dates, text as UTF-8; zstd. */
export async function writeParquet(table: Table): Promise<Uint8Array> {
  await codec();
  const properties = new WriterPropertiesBuilder().setCompression(Compression.ZSTD).build();
  return writeWasm(WasmTable.fromIPCStream(encodeArrow(table)), properties);
}
