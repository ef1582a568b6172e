import init, {
  Compression,
  type InitInput,
  ParquetFile,
  type RecordBatch,
  Table as WasmTable,
  WriterPropertiesBuilder,
  writeParquet as writeWasm,
} from 'parquet-wasm/esm';
import type { Table } from '../core/table.ts';
import { decodeArrow, encodeArrow } from './arrow.ts';
import { decodeCells } from './arrow-cells.ts';
import type { CellTable } from './cells.ts';
import { watchTraps } from './parquet-traps.ts';

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

/** Some rows of a file, in order. */
export interface ParquetPart<T = Table> {
  readonly table: T;
  /** Rows handed out so far, with this part. */
  readonly rowsRead: number;
  readonly rowCount: number;
}

/** Rows of a part: of 35 columns some 15 MB, however large the file's row groups. */
const ROWS_AT_ONCE = 65_536;

/**
 * Reads a Parquet file part by part, none of more than one row group; an empty file gives one part without rows.
 * Numbers and decimals come as numbers, dates as days, timestamps as ISO text in UTC. Throws on damaged files and on
 * columns of other types.
 */
export const readParquet = (bytes: Uint8Array): AsyncGenerator<ParquetPart> => readBy(decodeArrow, bytes);

/** The same as cells in their buffers. */
export const readParquetCells = (bytes: Uint8Array): AsyncGenerator<ParquetPart<CellTable>> =>
  readBy(decodeCells, bytes);

async function* readBy<T extends { readonly rowCount: number }>(
  decode: (ipc: Uint8Array) => T,
  bytes: Uint8Array,
): AsyncGenerator<ParquetPart<T>> {
  await codec();
  const traps = watchTraps();
  let file: ParquetFile | null = null;
  try {
    file = await traps.or(ParquetFile.fromFile(new Blob([bytes as Uint8Array<ArrayBuffer>])));
    const rowCount = file.metadata().fileMetadata().numRows();
    if (rowCount === 0) {
      yield { table: decode((await traps.or(file.read())).intoIPCStream()), rowsRead: 0, rowCount };
      return;
    }
    const batches = (await traps.or(file.stream({ batchSize: ROWS_AT_ONCE }))).getReader();
    const nextBatch = (): ReturnType<typeof batches.read> => traps.or(batches.read());
    try {
      let rowsRead = 0;
      for (let next = await nextBatch(); !next.done; next = await nextBatch()) {
        const table = decode((next.value as RecordBatch).intoIPCStream());
        rowsRead += table.rowCount;
        yield { table, rowsRead, rowCount };
      }
    } finally {
      await traps.or(batches.cancel());
    }
  } finally {
    traps.end();
    file?.free();
  }
}

/** A table as a Parquet file: numbers as doubles, days as dates, text as UTF-8; zstd. */
export async function writeParquet(table: Table): Promise<Uint8Array> {
  await codec();
  const properties = new WriterPropertiesBuilder().setCompression(Compression.ZSTD).build();
  return writeWasm(WasmTable.fromIPCStream(encodeArrow(table)), properties);
}
