import {
  binary,
  bool,
  type Column,
  columnFromArray,
  type DataType,
  dateDay,
  dateMillisecond,
  decimal,
  dictionary,
  float32,
  float64,
  int8,
  int32,
  int64,
  list,
  struct,
  TimeUnit,
  Type,
  tableFromColumns,
  tableToIPC,
  timestamp,
  uint64,
  utf8,
} from '@uwdata/flechette';
import {
  Compression,
  Table as WasmTable,
  WriterPropertiesBuilder,
  writeParquet as writeWasm,
} from 'parquet-wasm/esm';
import type { Random } from '../../src/stats/random.ts';
import { CODE, NAMES, NO_DATES } from './hostile-cells.ts';

type Made = readonly [DataType, (random: Random) => unknown];

const number = (random: Random): number =>
  random.pick([0, -0, 1, 85.5, -1, 1e308, -1e308, 5e-324, Number.NaN, Number.POSITIVE_INFINITY, 2 ** 53, 9]);

/** Columns as other writers may give them, sound and unsound. */
const KINDS: readonly Made[] = [
  [utf8(), (random) => random.pick([...CODE, ...NAMES, ...NO_DATES, 'LF', 'H1', '2024-05-01'])],
  [dictionary(utf8()), (random) => random.pick(['LF', 'RF', '', '__proto__', 'soft'])],
  [float64(), number],
  [float32(), number],
  [int8(), (random) => random.integer(-128, 127)],
  [int32(), (random) => random.integer(-(2 ** 31), 2 ** 31 - 1)],
  [int64(), (random) => random.pick([0n, -1n, 2n ** 63n - 1n, -(2n ** 63n), 2n ** 53n + 1n])],
  [uint64(), (random) => random.pick([0n, 2n ** 64n - 1n])],
  [bool(), (random) => random.uniform() < 0.5],
  [dateDay(), (random) => new Date(random.pick([0, 1.7e12, -6e13, 8.64e15, -8.64e15]))],
  [dateMillisecond(), (random) => new Date(random.pick([0, 1.7e12, 8.64e15]))],
  [timestamp(TimeUnit.MILLISECOND), (random) => random.pick([0, 1.7e12, -6e13, 8.64e15, 9e15])],
  [timestamp(TimeUnit.NANOSECOND, 'Europe/Berlin'), (random) => random.pick([0, 1.7e12])],
  [decimal(10, 2, 128), (random) => random.pick([0, 85.25, -99999999.99])],
  [binary(), () => Uint8Array.of(0, 255, 1)],
  [list(int32()), () => [1, 2]],
  [struct({ a: int32() }), () => ({ a: 1 })],
];

const HEADERS = [
  'horse_id',
  'visit_date',
  'foot',
  'toe_before_mm',
  'toe_after_mm',
  'separation_grade',
  'notes',
  'breed',
  'sole_depth_mm',
  'LF toe (cm)',
];
const ODD = ['', ' ', '__proto__', 'constructor', 'a.b', 'a"b', 'horse_id', 'x'.repeat(3000), 'ж', '1'];

/** A sound file of columns that no record of visits has, some under its headers. */
export function oddParquet(random: Random): Uint8Array {
  const rows = random.pick([0, 1, 1, 3, 20]);
  const required: readonly [string, Column<unknown>][] =
    random.uniform() < 0.6
      ? [
          [
            'horse_id',
            columnFromArray(
              Array.from({ length: rows }, (_, i) => `H${i}`),
              utf8(),
            ),
          ],
          [
            'visit_date',
            columnFromArray(
              Array.from({ length: rows }, () => new Date('2024-05-01')),
              dateDay(),
            ),
          ],
          [
            'foot',
            columnFromArray(
              Array.from({ length: rows }, () => 'LF'),
              utf8(),
            ),
          ],
        ]
      : [];
  const columns = [
    ...required,
    ...Array.from(
      { length: random.integer(required.length > 0 ? 0 : 1, 6) },
      (): [string, Column<unknown>] => {
        // The sound kinds oftener, as one that cannot be read hides the rest.
        const [type, make] =
          random.uniform() < 0.9 || rows === 0
            ? random.pick(KINDS.slice(rows === 0 ? 2 : 0, -3))
            : random.pick(KINDS.slice(-3));
        // A dictionary without any word is not to be written.
        const missing = type.typeId === Type.Dictionary ? 0 : random.pick([0, 0.3, 1]);
        const cells = Array.from({ length: rows }, () => (random.uniform() < missing ? null : make(random)));
        return [
          random.uniform() < 0.7 ? random.pick(HEADERS) : random.pick(ODD),
          columnFromArray(
            cells,
            type.typeId === Type.Dictionary ? dictionary(utf8()) : type,
          ) as Column<unknown>,
        ];
      },
    ),
  ];
  const ipc = tableToIPC(tableFromColumns(columns), { format: 'stream' }) as Uint8Array;
  const properties = new WriterPropertiesBuilder()
    .setCompression(
      random.pick([
        Compression.UNCOMPRESSED,
        Compression.SNAPPY,
        Compression.GZIP,
        Compression.ZSTD,
        Compression.LZ4_RAW,
        Compression.BROTLI,
      ]),
    )
    .setMaxRowGroupSize(random.pick([1, 2, 1000]))
    .build();
  return writeWasm(WasmTable.fromIPCStream(ipc), properties);
}
