import { readFileSync } from 'node:fs';
import {
  bool,
  columnFromArray,
  dateDay,
  decimal,
  dictionary,
  int32,
  int64,
  list,
  tableFromColumns,
  tableToIPC,
  timestamp,
  utf8,
} from '@uwdata/flechette';
import { Table as WasmTable, WriterPropertiesBuilder, writeParquet as writeWasm } from 'parquet-wasm/esm';
import { beforeAll, describe, expect, it } from 'vitest';
import {
  booleanColumn,
  dayColumn,
  makeTable,
  numberColumn,
  rowsOf,
  textColumn,
} from '../../src/core/table.ts';
import { initParquet, readParquet, writeParquet } from '../../src/engine/parquet.ts';
import { inspectFile } from '../../src/intake/open.ts';

const wasm = new URL('../../node_modules/parquet-wasm/esm/parquet_wasm_bg.wasm', import.meta.url);

async function readAll(bytes: Uint8Array): Promise<Record<string, unknown>[]> {
  const rows = [];
  for await (const { table } of readParquet(bytes)) rows.push(...rowsOf(table));
  return rows;
}

/** A Parquet file of Arrow columns, in row groups of `rows`. */
function fileOf(columns: Parameters<typeof tableFromColumns>[0], rows = 1000): Uint8Array {
  const ipc = tableToIPC(tableFromColumns(columns), { format: 'stream' }) as Uint8Array;
  const properties = new WriterPropertiesBuilder().setMaxRowGroupSize(rows).build();
  return writeWasm(WasmTable.fromIPCStream(ipc), properties);
}

describe('parquet', () => {
  it('says so when its codec has not been handed in', async () => {
    await expect(writeParquet(makeTable({}))).rejects.toThrow(/call initParquet/);
  });

  describe('with its codec', () => {
    beforeAll(() => initParquet(readFileSync(wasm)));

    it('writes and reads back every kind of column, with missing cells', async () => {
      const table = makeTable({
        toe_mm: numberColumn([85.725, null, -1]),
        day: dayColumn([20_521, null, -1]),
        treated: booleanColumn([true, null, false]),
        horse: textColumn(['Zoé', null, '']),
      });
      expect(await readAll(await writeParquet(table))).toEqual(rowsOf(table));
    });

    it('reads integers, decimals, dates, times, booleans and dictionaries of other writers', async () => {
      const bytes = fileOf({
        small: columnFromArray([1, null], int32()),
        large: columnFromArray([2_000_000n, null], int64()),
        price: columnFromArray([12.34, null], decimal(10, 2, 128)),
        day: columnFromArray([new Date('2026-03-09'), null], dateDay()),
        moment: columnFromArray([new Date('2026-03-09T14:30:00Z'), null], timestamp()),
        flag: columnFromArray([true, null], bool()),
        level: columnFromArray(['soft', null], dictionary(utf8())),
      });
      expect(await readAll(bytes)).toEqual([
        {
          small: 1,
          large: 2_000_000,
          price: 12.34,
          day: 20_521,
          moment: '2026-03-09T14:30:00',
          flag: true,
          level: 'soft',
        },
        { small: null, large: null, price: null, day: null, moment: null, flag: null, level: null },
      ]);
    });

    it('hands out one row group at a time, in order', async () => {
      const bytes = fileOf({ n: columnFromArray([0, 1, 2, 3, 4], int32()) }, 2);
      const parts = [];
      for await (const { table, rowsRead, rowCount } of readParquet(bytes))
        parts.push([table.rowCount, rowsRead, rowCount]);
      expect(parts).toEqual([
        [2, 2, 5],
        [2, 4, 5],
        [1, 5, 5],
      ]);
      expect((await readAll(bytes)).map((row) => row.n)).toEqual([0, 1, 2, 3, 4]);
    });

    it('is refused by the name of a column that cannot be read', async () => {
      const bytes = fileOf({
        horse: columnFromArray(['a'], utf8()),
        toes: columnFromArray([[1, 2]], list(int32())),
      });
      await expect(inspectFile({ name: 'x.parquet', bytes })).rejects.toThrow(
        'x.parquet: the column “toes” is of a type that cannot be read; export it as text, a number or a date.',
      );
    });
  });
});
