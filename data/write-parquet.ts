import {
  bool,
  type DataType,
  dateDay,
  float64,
  int32,
  tableFromArrays,
  tableToIPC,
  utf8,
} from '@uwdata/flechette';
import {
  Compression,
  type RecordBatch,
  Table,
  transformParquetStream,
  type WriterProperties,
  WriterPropertiesBuilder,
  writeParquet,
} from 'parquet-wasm';
import type { Cell, Columns } from './foot-row.ts';

const TYPES: Readonly<Record<Columns[string], () => DataType>> = {
  text: utf8,
  day: dateDay,
  mm: float64,
  whole: int32,
  boolean: bool,
};
const MS_PER_DAY = 86_400_000;

/** Rows to one Arrow table inside the Parquet library's memory; the caller hands it on, which frees it. */
function arrowTable(rows: readonly object[], columns: Columns): Table {
  const arrays = Object.fromEntries(
    Object.entries(columns).map(([name, kind]) => [
      name,
      rows.map((row) => {
        const value = (row as Record<string, Cell>)[name] ?? null;
        return kind === 'day' && value !== null ? (value as number) * MS_PER_DAY : value;
      }),
    ]),
  );
  const types = Object.fromEntries(Object.entries(columns).map(([name, kind]) => [name, TYPES[kind]()]));
  const bytes = tableToIPC(tableFromArrays(arrays, { types }), { format: 'stream' });
  return Table.fromIPCStream(bytes!);
}

function properties(): WriterProperties {
  return new WriterPropertiesBuilder().setCompression(Compression.ZSTD).setMaxRowGroupSize(100_000).build();
}

/** Parquet bytes (zstd): text as UTF-8, days as DATE, measures as DOUBLE, grades and years as INT32. */
export function parquetBytes(rows: readonly object[], columns: Columns): Uint8Array {
  return writeParquet(arrowTable(rows, columns), properties());
}

/** The same for more rows than fit at once: batches in, bytes out. */
export async function parquetStream(
  batches: AsyncIterable<readonly object[]>,
  columns: Columns,
): Promise<AsyncIterable<Uint8Array>> {
  const source = batches[Symbol.asyncIterator]();
  const recordBatches = new ReadableStream<RecordBatch>(
    {
      async pull(controller) {
        const { done, value } = await source.next();
        if (done) return controller.close();
        for (const batch of arrowTable(value, columns).recordBatches()) controller.enqueue(batch);
      },
    },
    { highWaterMark: 1 },
  );
  return transformParquetStream(recordBatches, properties()) as unknown as Promise<AsyncIterable<Uint8Array>>;
}
