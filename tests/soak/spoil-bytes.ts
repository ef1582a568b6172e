import { strToU8, zipSync } from 'fflate';
import { writeParquet } from '../../src/engine/parquet.ts';
import type { Random } from '../../src/stats/random.ts';
import { windows1252 } from '../intake/messy.ts';
import { demoGrid, someGrid, tableOfGrid, textOf } from './base-files.ts';
import { oddParquet } from './odd-parquet.ts';

export type SpoilBytes = (random: Random) => Uint8Array | Promise<Uint8Array>;

const utf8 = (text: string): Uint8Array => new TextEncoder().encode(text);

/** UTF-16 without a mark. */
function utf16(text: string, bigEndian: boolean): Uint8Array {
  const out = new DataView(new ArrayBuffer(text.length * 2));
  for (let i = 0; i < text.length; i++) out.setUint16(2 * i, text.charCodeAt(i), !bigEndian);
  return new Uint8Array(out.buffer);
}

function joined(...parts: readonly ArrayLike<number>[]): Uint8Array {
  const out = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}

/** Changes some bytes from `from` on in place. */
function flipped(bytes: Uint8Array, random: Random, from = 0, to = bytes.length): Uint8Array {
  for (let k = random.pick([1, 1, 2, 8, 64]); k > 0; k--) {
    const at = random.integer(from, Math.max(from, to - 1));
    bytes[at] =
      random.uniform() < 0.7 ? (bytes[at] as number) ^ (1 << random.integer(0, 7)) : random.integer(0, 255);
  }
  return bytes;
}

function noise(random: Random, length: number): Uint8Array {
  return Uint8Array.from({ length }, () => random.integer(0, 255));
}

const goodParquet = (random: Random): Promise<Uint8Array> => writeParquet(tableOfGrid(demoGrid(random)));

/** Length of the footer, as the file's last eight bytes tell it (Apache Parquet format). */
const footerLength = (bytes: Uint8Array): number =>
  new DataView(bytes.buffer, bytes.byteOffset).getUint32(bytes.length - 8, true);

const MARKS = [
  [],
  [0xef, 0xbb, 0xbf],
  [0xff, 0xfe],
  [0xfe, 0xff],
  [0xff, 0xfe, 0, 0],
  [0, 0, 0xfe, 0xff],
  [0xef, 0xbb, 0xbf, 0xef, 0xbb, 0xbf],
  [0x2b, 0x2f, 0x76],
];
const SIGNATURES = [
  [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a],
  [0xff, 0xd8, 0xff, 0xe0],
  [0x47, 0x49, 0x46, 0x38, 0x39, 0x61],
  [0x25, 0x50, 0x44, 0x46, 0x2d],
  [0xd0, 0xcf, 0x11, 0xe0],
  [0x1f, 0x8b, 8, 0],
  [0x42, 0x4d],
  [0x52, 0x49, 0x46, 0x46],
  [0x49, 0x49, 0x2a, 0],
  [0x37, 0x7a, 0xbc, 0xaf],
  [0x28, 0xb5, 0x2f, 0xfd],
  [0x53, 0x51, 0x4c, 0x69, 0x74, 0x65],
  [0x4f, 0x62, 0x6a, 1],
  [0x41, 0x52, 0x52, 0x4f, 0x57, 0x31],
  [0x7f, 0x45, 0x4c, 0x46],
  [0x50, 0x4b, 3, 4],
  [0x50, 0x4b, 5, 6],
];

/** Bad files by their bytes, by what is bad about them. */
export const SPOILT_BYTES: Readonly<Record<string, SpoilBytes>> = {
  'encodings and byte-order marks mixed': (random) => {
    const grid = someGrid(random);
    const at = grid.header.length - 1;
    for (const row of grid.rows) row[at] = random.pick(['Zoé', 'größer', 'ça', '']);
    const text = textOf(grid);
    const half = random.integer(0, text.length);
    const as = random.shuffle([
      utf8,
      windows1252,
      (t: string) => utf16(t, false),
      (t: string) => utf16(t, true),
    ]);
    const [first, second] = as as [typeof utf8, typeof utf8];
    const mark = random.pick(MARKS);
    const whole =
      random.uniform() < 0.5
        ? joined(mark, first(text))
        : joined(mark, first(text.slice(0, half)), second(text.slice(half)));
    return random.uniform() < 0.3 ? whole.subarray(0, Math.max(0, whole.length - 1)) : whole;
  },
  'a CSV with bits flipped': (random) => flipped(utf8(textOf(someGrid(random))), random),
  'any bytes': (random) => noise(random, random.pick([1, 2, 3, 4, 8, 12, 100, 3000])),
  'an archive called .csv': (random) => {
    const name = random.pick([
      'visits.csv',
      '[Content_Types].xml',
      'xl/workbook.xml',
      'a'.repeat(300),
      'ж.csv',
    ]);
    const zip = zipSync({ [name]: strToU8(textOf(someGrid(random))) });
    return random.uniform() < 0.5 ? zip : flipped(zip, random).subarray(0, random.integer(1, zip.length));
  },
  'a picture or another format called .csv': (random) =>
    joined(
      random.pick(SIGNATURES),
      random.uniform() < 0.5 ? noise(random, 500) : utf8(textOf(someGrid(random))),
    ),
  'Parquet cut short': async (random) => {
    const bytes = await goodParquet(random);
    return bytes.subarray(0, random.integer(1, bytes.length - 1));
  },
  'Parquet cut short, its last bytes put back': async (random) => {
    const bytes = await goodParquet(random);
    const tail = random.pick([4, 8, 8 + footerLength(bytes)]);
    const cut = random.integer(4, bytes.length - tail);
    return joined(bytes.subarray(0, cut), bytes.subarray(bytes.length - tail));
  },
  'Parquet with bits flipped': async (random) => flipped(await goodParquet(random), random),
  'Parquet with bits flipped in its footer': async (random) => {
    const bytes = await goodParquet(random);
    return flipped(bytes, random, bytes.length - 8 - footerLength(bytes), bytes.length - 4);
  },
  'Parquet with bits flipped in its pages': async (random) => {
    const bytes = await goodParquet(random);
    return flipped(bytes, random, 4, bytes.length - 8 - footerLength(bytes));
  },
  'noise between the marks of Parquet': (random) => {
    const mark = utf8('PAR1');
    const inside = noise(random, random.integer(0, 400));
    const length = new Uint8Array(
      new Uint32Array([random.pick([0, 1, inside.length, 2 ** 31 - 1, 2 ** 32 - 1])]).buffer,
    );
    return joined(mark, inside, length, mark);
  },
  'Parquet of odd columns': (random) => oddParquet(random),
};
