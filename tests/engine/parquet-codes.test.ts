import { readFileSync } from 'node:fs';
import { DuckDBInstance } from '@duckdb/node-api';
import {
  columnFromArray,
  dateDay,
  dictionary,
  float64,
  int32,
  int64,
  list,
  tableFromColumns,
  tableToIPC,
  timestamp,
  utf8,
} from '@uwdata/flechette';
import {
  ParquetFile,
  type WriterPropertiesBuilder as Properties,
  Table as WasmTable,
  WriterPropertiesBuilder,
  writeParquet,
} from 'parquet-wasm/esm';
import { beforeAll, describe, expect, it } from 'vitest';
import { initParquet, readParquetCells } from '../../src/engine/parquet.ts';
import { isSameButCoded, withTextsByCode } from '../../src/engine/parquet-codes.ts';
import { footerOf } from '../../src/engine/parquet-footer.ts';
import { CellCollector } from '../../src/intake/collect-cells.ts';
import { rawCell } from '../../src/intake/source.ts';

const wasm = new URL('../../node_modules/parquet-wasm/esm/parquet_wasm_bg.wasm', import.meta.url);
const ROWS = 3001;

const every = <T>(value: (row: number) => T): T[] => Array.from({ length: ROWS }, (_, row) => value(row));
const horse = every((i) => (i % 9 === 0 ? null : ['', 'Zoé', 'of nine b', `n ${i % 400}`][i % 4]!));
const toe = every((i) => (i % 7 === 0 ? null : i / 2));

function fileOf(
  columns: Parameters<typeof tableFromColumns>[0],
  set: (properties: Properties) => Properties = (properties) => properties,
): Uint8Array {
  const ipc = tableToIPC(tableFromColumns(columns), { format: 'stream' }) as Uint8Array;
  const properties = set(new WriterPropertiesBuilder().setMaxRowGroupSize(1000)).build();
  return writeParquet(WasmTable.fromIPCStream(ipc), properties);
}

const LONG = every((i) => `${'long '.repeat(20)}${i}`);

/** One column of long texts, whose dictionary grows too large and is given up within a group of rows. */
const grownFile = (long: ReturnType<typeof columnFromArray>): Uint8Array =>
  fileOf({ long }, (properties) =>
    properties
      .setMaxRowGroupSize(ROWS)
      .setDictionaryPageSizeLimit(1 << 14)
      .setWriteBatchSize(100),
  );

interface Read {
  /** How the cells of each column came, each way once. */
  readonly kinds: Readonly<Record<string, string>>;
  readonly columns: Readonly<Record<string, readonly unknown[]>>;
}

async function read(bytes: Uint8Array): Promise<Read> {
  const collectors = new Map<string, CellCollector>();
  const kinds: Record<string, Set<string>> = {};
  let rows = 0;
  for await (const step of readParquetCells(bytes, ({ columns, rowCount }) => {
    for (const { name, cells } of columns) {
      const collector = collectors.get(name) ?? new CellCollector(1);
      collectors.set(name, collector);
      collector.take(cells, rowCount);
      kinds[name] ??= new Set();
      kinds[name].add(cells.kind);
    }
  }))
    rows = step.rowsRead;
  const columns = Object.fromEntries(
    [...collectors].map(([name, collector]) => {
      const column = collector.done(name, 'text');
      return [name, Array.from({ length: rows }, (_, row) => rawCell(column, row))];
    }),
  );
  return {
    kinds: Object.fromEntries(Object.entries(kinds).map(([name, set]) => [name, [...set].join(' ')])),
    columns,
  };
}

/** As native DuckDB writes it, which tells of no Arrow schema. */
async function written(options: string): Promise<Uint8Array> {
  const connection = await (await DuckDBInstance.create(':memory:')).connect();
  const path = `${process.env.TMPDIR ?? '/tmp'}/codes-${process.pid}-${Math.random()}.parquet`;
  await connection.run(
    `COPY (SELECT CASE WHEN i % 9 = 0 THEN NULL ELSE ['', 'Zoé', 'of nine b', 'n ' || (i % 400)][i % 4 + 1] END AS horse,
             CASE WHEN i % 7 = 0 THEN NULL ELSE i / 2 END AS toe FROM range(${ROWS}) t(i) ORDER BY i)
     TO '${path}' (FORMAT parquet, ROW_GROUP_SIZE 2048${options})`,
  );
  const bytes = new Uint8Array(readFileSync(path));
  const { rmSync } = await import('node:fs');
  rmSync(path);
  return bytes;
}

async function schemaOf(bytes: readonly Uint8Array[]): Promise<Uint8Array> {
  const file = await ParquetFile.fromFile(new Blob(bytes as Uint8Array<ArrayBuffer>[]));
  return file.schema().intoIPCStream();
}

describe('texts by the codes of a file', () => {
  beforeAll(() => initParquet(readFileSync(wasm)));
  const columns = { horse: columnFromArray(horse, utf8()), toe: columnFromArray(toe, float64()) };

  it('are the texts that were written, over row groups and missing ones', async () => {
    const { kinds, columns: found } = await read(fileOf(columns));
    expect(kinds).toEqual({ horse: 'keys', toe: 'numbers' });
    expect(found).toEqual({ horse, toe });
  });

  it('are read from a file that tells of no Arrow schema, whatever its compression', async () => {
    for (const codec of ['snappy', 'zstd', 'gzip', 'uncompressed', 'brotli', 'lz4_raw']) {
      const { kinds, columns: found } = await read(await written(`, COMPRESSION ${codec}`));
      expect(kinds, codec).toEqual({ horse: 'keys', toe: 'numbers' });
      expect(found, codec).toEqual({ horse, toe });
    }
  });

  it('come beside columns that must be looked at value by value', async () => {
    const more = {
      ...columns,
      large: columnFromArray(
        every((i) => BigInt(i)),
        int64(),
      ),
      moment: columnFromArray(
        every((i) => (i % 5 === 0 ? null : new Date(1_000_000_000_000 + i * 1000))),
        timestamp(),
      ),
      day: columnFromArray(
        every((i) => new Date(86_400_000 * i)),
        dateDay(),
      ),
      level: columnFromArray(
        every((i) => ['soft', 'firm'][i % 2]!),
        dictionary(utf8()),
      ),
    };
    const { kinds, columns: found } = await read(fileOf(more));
    expect(kinds).toMatchObject({ horse: 'keys', level: 'keys' });
    expect(found).toMatchObject({ horse, toe, large: every((i) => i), day: every((i) => i) });
    expect(found.level?.slice(0, 3)).toEqual(['soft', 'firm', 'soft']);
    expect(found.moment?.slice(0, 2)).toEqual([null, '2001-09-09T01:46:41']);
  });

  it('are missing where every one is', async () => {
    const none = columnFromArray(
      every(() => null),
      utf8(),
    );
    const { columns: found } = await read(fileOf({ ...columns, none }));
    expect(found).toEqual({ horse, toe, none: every(() => null) });
  });

  it('come as texts where a page is not written by a dictionary', async () => {
    const plain = fileOf(columns, (properties) => properties.setDictionaryEnabled(false));
    expect(await read(plain)).toEqual({ kinds: { horse: 'texts', toe: 'numbers' }, columns: { horse, toe } });
    const grown = grownFile(columnFromArray(LONG, utf8()));
    expect(await read(grown)).toEqual({ kinds: { long: 'texts' }, columns: { long: LONG } });
  });

  it('are read rightly even where the footer does not tell of such a page', async () => {
    const grown = grownFile(columnFromArray(LONG, utf8()));
    const asCodes = grownFile(columnFromArray(LONG, dictionary(utf8(), int32())));
    expect((await read(asCodes)).columns).toEqual((await read(grown)).columns);
  });

  it('leave files alone whose columns lie in one another, or have no texts, or no footer', async () => {
    const nested = fileOf({
      ...columns,
      toes: columnFromArray(
        every(() => [1, 2]),
        list(int32()),
      ),
    });
    expect(withTextsByCode(nested, await schemaOf([nested]))).toBeNull();
    const numbers = fileOf({ toe: columns.toe });
    expect(withTextsByCode(numbers, await schemaOf([numbers]))).toBeNull();
    const file = fileOf(columns);
    expect(footerOf(file.subarray(0, file.length - 1))).toBeNull();
    expect(footerOf(file.subarray(file.length - 300))).toBeNull();
    expect(footerOf(new Uint8Array(3))).toBeNull();
    const noise = file.slice();
    noise.fill(0xff, file.length - 500, file.length - 8);
    expect(footerOf(noise)).toBeNull();
  });

  it('change nothing else that the codec sees', async () => {
    const file = fileOf({
      ...columns,
      moment: columnFromArray(
        every(() => new Date(0)),
        timestamp(),
      ),
    });
    const before = await schemaOf([file]);
    const parts = withTextsByCode(file, before) as Uint8Array[];
    expect(isSameButCoded(before, await schemaOf(parts))).toBe(true);
    expect(isSameButCoded(before, await schemaOf([fileOf(columns)]))).toBe(false);
    expect(isSameButCoded(before, await schemaOf([fileOf({ ...columns, moment: columns.toe })]))).toBe(false);
    // Twice is as once.
    const whole = new Uint8Array(await new Blob(parts as Uint8Array<ArrayBuffer>[]).arrayBuffer());
    expect((await read(whole)).kinds).toMatchObject({ horse: 'keys', toe: 'numbers' });
  });
});
