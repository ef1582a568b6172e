import { readFileSync } from 'node:fs';
import {
  bool,
  columnFromArray,
  type DataType,
  dateDay,
  dictionary,
  float64,
  int64,
  tableFromColumns,
  tableToIPC,
  timestamp,
  uint16,
  utf8,
} from '@uwdata/flechette';
import { Table as WasmTable, WriterPropertiesBuilder, writeParquet } from 'parquet-wasm/esm';
import { beforeAll, describe, expect, it } from 'vitest';
import { initParquet } from '../../src/engine/parquet.ts';
import { openParquet } from '../../src/intake/parquet-source.ts';
import { rawCell, type SourceColumn } from '../../src/intake/source.ts';

const wasm = new URL('../../node_modules/parquet-wasm/esm/parquet_wasm_bg.wasm', import.meta.url);
beforeAll(() => initParquet(readFileSync(wasm)));

/** A column of one type, written in row groups of `group` rows and read again. */
async function readBack(values: readonly unknown[], type: DataType, group = 7): Promise<SourceColumn> {
  const ipc = tableToIPC(tableFromColumns({ a: columnFromArray([...values], type) }), { format: 'stream' });
  const properties = new WriterPropertiesBuilder().setMaxRowGroupSize(group).build();
  const bytes = writeParquet(WasmTable.fromIPCStream(ipc as Uint8Array), properties);
  return (await openParquet('x.parquet', bytes)).columns[0] as SourceColumn;
}

const cells = (column: SourceColumn): unknown[] => Array.from(column.codes, (_, row) => rawCell(column, row));

describe('a typed column', () => {
  const texts = ['soft', '', null, 'Zoé', '😀', 'soft', null, null, 'soft', 'sof', 'softer', ''];
  const marked = ['\ufeffsoft', 'soft', '\ufeffsoft'];
  const days = [new Date('2026-03-09'), null, new Date('1969-12-31'), new Date('2026-03-09')];

  it.each<[string, readonly unknown[], DataType, readonly unknown[]]>([
    ['texts', texts, utf8(), texts],
    ['texts with a byte-order mark in them', marked, utf8(), marked],
    ['texts by a dictionary', texts, dictionary(utf8()), texts],
    [
      'numbers',
      [1.5, null, 0.5, 1.5, null, 2, 2, 2, 1.5],
      float64(),
      [1.5, null, 0.5, 1.5, null, 2, 2, 2, 1.5],
    ],
    ['numbers that are none', [Number.NaN, 1, Number.NaN], float64(), [null, 1, null]],
    ['whole numbers of 16 bits', [65_535, null, 0], uint16(), [65_535, null, 0]],
    [
      'whole numbers of 64 bits',
      [-1n, null, 2n ** 53n - 1n, -(2n ** 40n)],
      int64(),
      [-1, null, 2 ** 53 - 1, -(2 ** 40)],
    ],
    [
      'whole numbers of 64 bits that no double holds',
      [2n ** 53n + 1n, null, 7n, -(2n ** 63n)],
      int64(),
      ['9007199254740993', null, 7, '-9223372036854775808'],
    ],
    ['days', days, dateDay(), [20_521, null, -1, 20_521]],
    [
      'moments',
      [new Date('2026-03-09T14:30:00.900Z'), null, new Date(-500)],
      timestamp(),
      ['2026-03-09T14:30:00', null, '1969-12-31T23:59:59'],
    ],
    [
      'truths',
      [true, null, false, false, null, true, true, true, false],
      bool(),
      [true, null, false, false, null, true, true, true, false],
    ],
  ])('of %s keeps each cell, whatever the row groups', async (_, values, type, expected) => {
    for (const group of [1, 2, 3, 1000]) {
      const column = await readBack(values, type, group);
      expect(cells(column)).toEqual(expected);
      expect(new Set(column.distinct).size).toBe(column.distinct.length);
      expect([...column.counts]).toEqual(
        column.distinct.map((value) => expected.filter((cell) => Object.is(cell, value)).length),
      );
    }
  });

  it('has one value for 0 and −0', async () => {
    const column = await readBack([0, -0, 1, -0], float64());
    expect([...column.codes]).toEqual([0, 0, 1, 0]);
  });

  it('has as many values as are distinct, and codes as wide as they need', async () => {
    const numbers = Array.from({ length: 70_000 }, (_, i) => i / 2);
    const column = await readBack(numbers, float64(), 100_000);
    expect(column.distinct).toEqual(numbers);
    expect(column.codes).toEqual(Int32Array.from(numbers.keys()));
    const few = await readBack(numbers.slice(0, 300), float64(), 100);
    expect(few.codes).toEqual(Uint16Array.from(numbers.slice(0, 300).keys()));
    expect((await readBack(numbers.slice(0, 256), float64())).codes).toBeInstanceOf(Uint8Array);
  });

  it('tells thousands of texts apart', async () => {
    const names = Array.from({ length: 20_000 }, (_, i) => `horse ${i * 7919}`);
    const column = await readBack([...names, ...names], utf8(), 3000);
    expect(column.distinct).toEqual(names);
    expect(cells(column)).toEqual([...names, ...names]);
  });
});
