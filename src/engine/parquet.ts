import init, {
  Compression,
  type InitInput,
  ParquetFile,
  type RecordBatch,
  Table as WasmTable,
  WriterPropertiesBuilder,
  wasmMemory,
  writeParquet as writeWasm,
} from 'parquet-wasm/esm';
import type { Table } from '../core/table.ts';
import { decodeArrow, encodeArrow } from './arrow.ts';
import { decodeCells } from './arrow-cells.ts';
import { cellsInMemory } from './arrow-memory.ts';
import type { CellTable } from './cells.ts';
import { isSameButCoded, withTextsByCode } from './parquet-codes.ts';
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

/** How far a file has been read. */
interface ParquetStep {
  /** Rows handed out so far, with these. */
  readonly rowsRead: number;
  readonly rowCount: number;
}

/** Some rows of a file, in order. */
interface ParquetPart extends ParquetStep {
  readonly table: Table;
}

/** Rows of a part: of 35 columns some 15 MB, however large the file's row groups. */
const ROWS_AT_ONCE = 65_536;

/**
 * Reads a Parquet file part by part, none of more than one row group; an empty file gives one part without rows.
 * Numbers and decimals come as numbers, dates as days, timestamps as ISO text in UTC. Throws on damaged files and on
 * columns of other types.
 */
export async function* readParquet(bytes: Uint8Array): AsyncGenerator<ParquetPart> {
  for await (const { batch, rowCount, rowsRead } of batchesOf(bytes, opened)) {
    const table = decodeArrow(batch.intoIPCStream());
    yield { table, rowsRead: rowsRead + table.rowCount, rowCount };
  }
}

/**
 * The same as cells in their buffers, each part handed to `take` before the next step: they may lie in the codec's own
 * memory, and are gone when `take` has returned.
 */
export async function* readParquetCells(
  bytes: Uint8Array,
  take: (cells: CellTable, rowCount: number) => void,
): AsyncGenerator<ParquetStep> {
  for await (const { batch, rowCount, rowsRead } of batchesOf(bytes, openedByCode)) {
    let rows = 0;
    withCells(batch, (cells) => {
      rows = cells.rowCount;
      take(cells, rowCount);
    });
    yield { rowsRead: rowsRead + rows, rowCount };
  }
}

/** A table of no rows has one batch of none. */
type Batch = Pick<RecordBatch, 'intoIPCStream'> & Partial<Pick<RecordBatch, 'toFFI' | 'free'>>;

function withCells(batch: Batch, take: (cells: CellTable) => void): void {
  const shared = batch.toFFI?.();
  try {
    const { buffer } = wasmMemory() as unknown as WebAssembly.Memory;
    const cells = shared && cellsInMemory(buffer as ArrayBuffer, shared.schemaAddr(), shared.arrayAddr());
    if (cells) {
      take(cells);
      batch.free?.();
      return;
    }
  } finally {
    shared?.free();
  }
  take(decodeCells(batch.intoIPCStream()));
}

type Traps = ReturnType<typeof watchTraps>;

const opened = (bytes: Uint8Array, traps: Traps): Promise<ParquetFile> => openedParts([bytes], traps);

const openedParts = (parts: readonly Uint8Array[], traps: Traps): Promise<ParquetFile> =>
  traps.or(ParquetFile.fromFile(new Blob(parts as Uint8Array<ArrayBuffer>[])));

/** Opened so that texts come by their codes, where the file has them so. */
async function openedByCode(bytes: Uint8Array, traps: Traps): Promise<ParquetFile> {
  const plain = await opened(bytes, traps);
  let coded: ParquetFile | null = null;
  try {
    const schema = plain.schema().intoIPCStream();
    const parts = withTextsByCode(bytes, schema);
    coded = parts && (await openedParts(parts, traps));
    if (coded && isSameButCoded(schema, coded.schema().intoIPCStream())) {
      plain.free();
      return coded;
    }
  } catch {
    // As it is, it can be opened.
  }
  coded?.free();
  return plain;
}

/** The rows of a file in turn; `rowsRead` were in those before. */
async function* batchesOf(
  bytes: Uint8Array,
  open: (bytes: Uint8Array, traps: Traps) => Promise<ParquetFile>,
): AsyncGenerator<ParquetStep & { readonly batch: Batch }> {
  await codec();
  const traps = watchTraps();
  let file: ParquetFile | null = null;
  try {
    file = await open(bytes, traps);
    const rowCount = file.metadata().fileMetadata().numRows();
    if (rowCount === 0) {
      const table = await traps.or(file.read());
      yield { batch: { intoIPCStream: () => table.intoIPCStream() }, rowsRead: 0, rowCount };
      return;
    }
    const batches = (await traps.or(file.stream({ batchSize: ROWS_AT_ONCE }))).getReader();
    const nextBatch = (): ReturnType<typeof batches.read> => traps.or(batches.read());
    try {
      let rowsRead = 0;
      for (let next = await nextBatch(); !next.done; next = await nextBatch()) {
        const batch = next.value as RecordBatch;
        const rows = batch.numRows;
        yield { batch, rowsRead, rowCount };
        rowsRead += rows;
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
