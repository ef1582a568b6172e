import { readFileSync } from 'node:fs';
import {
  bool,
  columnFromArray,
  dateDay,
  float32,
  float64,
  int8,
  int16,
  int32,
  int64,
  tableFromColumns,
  tableToIPC,
  uint8,
  utf8,
} from '@uwdata/flechette';
import { RecordBatch, Table as WasmTable, WriterPropertiesBuilder, writeParquet } from 'parquet-wasm/esm';
import { beforeAll, describe, expect, it, vi } from 'vitest';
import { initParquet, readParquetCells } from '../../src/engine/parquet.ts';
import { CellCollector } from '../../src/intake/collect-cells.ts';
import { rawCell } from '../../src/intake/source.ts';

const wasm = new URL('../../node_modules/parquet-wasm/esm/parquet_wasm_bg.wasm', import.meta.url);
const ROWS = 1003; // no whole number of bytes of bits

const COLUMNS = {
  toe_mm: columnFromArray(
    every((i) => (i % 7 === 0 ? null : i % 3 === 0 ? i / 3 : -i / 2)),
    float64(),
  ),
  narrow: columnFromArray(
    every((i) => i / 4),
    float32(),
  ),
  whole: columnFromArray(
    every((i) => (i % 5 === 0 ? null : i * 70_000)),
    int32(),
  ),
  short: columnFromArray(
    every((i) => i - 500),
    int16(),
  ),
  tiny: columnFromArray(
    every((i) => (i % 200) - 100),
    int8(),
  ),
  level: columnFromArray(
    every((i) => i % 200),
    uint8(),
  ),
  day: columnFromArray(
    every((i) => (i % 11 === 0 ? null : new Date(86_400_000 * (19_000 + i)))),
    dateDay(),
  ),
  flag: columnFromArray(
    every((i) => (i % 4 === 0 ? null : i % 3 === 0)),
    bool(),
  ),
  horse: columnFromArray(
    every((i) => (i % 9 === 0 ? null : ['', 'Zoé', 'of eight', 'of nine b', `n ${i}`][i % 5]!)),
    utf8(),
  ),
  nothing: columnFromArray(
    every(() => null),
    utf8(),
  ),
};

function every<T>(value: (row: number) => T): T[] {
  return Array.from({ length: ROWS }, (_, row) => value(row));
}

function fileOf(columns: Parameters<typeof tableFromColumns>[0]): Uint8Array {
  const ipc = tableToIPC(tableFromColumns(columns), { format: 'stream' }) as Uint8Array;
  const properties = new WriterPropertiesBuilder().setMaxRowGroupSize(400).build();
  return writeParquet(WasmTable.fromIPCStream(ipc), properties);
}

/** Columns as collected, cell by cell. */
async function collected(bytes: Uint8Array): Promise<Record<string, unknown[]>> {
  const collectors = new Map<string, CellCollector>();
  for await (const step of readParquetCells(bytes, ({ columns, rowCount }) => {
    for (const { name, cells } of columns) {
      const collector = collectors.get(name) ?? new CellCollector(ROWS);
      collectors.set(name, collector);
      collector.take(cells, rowCount);
    }
  }))
    expect(step.rowCount).toBe(ROWS);
  return Object.fromEntries(
    [...collectors].map(([name, collector]) => {
      const column = collector.done(name, 'text');
      expect(column.counts.reduce((sum, n) => sum + n, 0)).toBe(ROWS);
      return [name, Array.from({ length: ROWS }, (_, row) => rawCell(column, row))];
    }),
  );
}

describe('cells in the codec’s memory', () => {
  beforeAll(() => initParquet(readFileSync(wasm)));

  it('are the same as what was written, without a copy', async () => {
    const copies = vi.spyOn(RecordBatch.prototype, 'intoIPCStream');
    const read = await collected(fileOf(COLUMNS));
    expect(copies).not.toHaveBeenCalled();
    copies.mockRestore();
    for (const [name, column] of Object.entries(COLUMNS)) {
      const days = name === 'day' ? 86_400_000 : 1;
      const expected = Array.from({ length: ROWS }, (_, row) => {
        const value = column.at(row) as string | number | boolean | null;
        return typeof value === 'number' ? value / days + 0 : value;
      });
      expect(read[name]).toEqual(expected);
    }
  });

  it('are taken the other way where one column must be looked at value by value', async () => {
    const large = columnFromArray(
      every((i) => 2n ** 60n + BigInt(i)),
      int64(),
    );
    const copies = vi.spyOn(RecordBatch.prototype, 'intoIPCStream');
    const read = await collected(fileOf({ ...COLUMNS, large }));
    expect(copies).toHaveBeenCalledTimes(3);
    copies.mockRestore();
    expect(read.large?.[2]).toBe('1152921504606846978');
    expect(read).toMatchObject(await collected(fileOf(COLUMNS)));
  });
});
