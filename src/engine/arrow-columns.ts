import {
  Column as ArrowColumn,
  type Batch,
  batchType,
  bool,
  type DataType,
  dateDay,
  dictionary,
  float64,
  int8,
  int16,
  int32,
  uint8,
  uint16,
  utf8,
} from '@uwdata/flechette';
import { type CodedCells, type CodedNumbers, type CodedTexts, type Column, codedOf } from '../core/table.ts';
import { joinedBytes } from './joined-bytes.ts';

/** What is nowhere missing needs no bits. */
const NONE_MISSING = new Uint8Array(0);
const BATCH_ROWS = 122_880; // one row group of the engine

/** Buffers of one batch, laid out as the Arrow columnar format 1.5 says. */
interface Buffers {
  readonly validity: Uint8Array;
  readonly values: ArrayLike<number>;
  readonly nullCount: number;
  /** Where each text begins and ends. */
  readonly offsets?: Int32Array;
}

/**
 * A column as Arrow, made buffer by buffer rather than value by value. Numbers as float64, days as date32; texts by a
 * dictionary, as a million rows of a herd hold few distinct ones, or written out, as not every program reads dictionaries.
 */
export function arrowColumn(column: Column, writing: 'by-dictionary' | 'written-out'): ArrowColumn<unknown> {
  if (writing === 'by-dictionary' && column.byCode) return withoutALook(column);
  switch (column.type) {
    case 'number':
      if (column.wholes) return inBatches(int32(), column.wholes, noneMissing);
      return column.whole
        ? inBatches(int32(), column.values, (piece) => ({
            ...presence(piece),
            values: new Int32Array(piece),
          }))
        : inBatches(float64(), column.values, (piece) => ({ ...presence(piece), values: piece }));
    case 'day':
      return inBatches(dateDay(), column.values, (piece) => ({
        ...presence(piece),
        values: new Int32Array(piece),
      }));
    case 'boolean':
      return inBatches(bool(), column.values, bits);
    case 'text':
      return writing === 'by-dictionary'
        ? byDictionary(codedOf(column))
        : inBatches(utf8(), column.values, textBuffers);
  }
}

/** A column whose codes are known: as they come, or looked up where they are two bits. */
function withoutALook(column: Column): ArrowColumn<unknown> {
  if (column.type === 'boolean') {
    const { codes, levels } = column.byCode as CodedCells<boolean>;
    if (!(codes instanceof Uint8Array)) return inBatches(bool(), column.values, bits);
    const there = Uint8Array.from(levels, (level) => Number(level !== null));
    const set = Uint8Array.from(levels, (level) => Number(level === true));
    return inBatches(bool(), codes, (piece) => {
      const [validity, values] = [bitsByCode(piece, there), bitsByCode(piece, set)];
      return { validity: validity.bits, values: values.bits, nullCount: piece.length - validity.count };
    });
  }
  if (column.type === 'text') {
    const { codes, levels } = column.byCode as CodedCells<string>;
    return byCodes(dictionaryOf(levels), codes);
  }
  const { codes, levels } = column.byCode as CodedNumbers;
  const numbers = column.type === 'day' ? dateDay() : column.whole ? int32() : float64();
  const values = column.type === 'number' && !column.whole ? levels : new Int32Array(levels);
  const BatchOf = batchType(numbers) as unknown as new (parts: object) => Batch<unknown>;
  const batch = new BatchOf({ length: levels.length, type: numbers, ...presence(levels), values });
  return byCodes(new ArrowColumn([batch], numbers), codes);
}

/** A byte or two for each value; a missing one is missing from the dictionary. */
function byCodes(words: ArrowColumn<unknown>, codes: CodedNumbers['codes']): ArrowColumn<unknown> {
  const width = codes instanceof Uint8Array ? uint8() : codes instanceof Uint16Array ? uint16() : int32();
  return inBatches(dictionary(words.type, width), codes, noneMissing, (batch) =>
    (batch as unknown as { setDictionary(column: unknown): void }).setDictionary(words),
  );
}

const noneMissing = <T extends ArrayLike<number>>(values: T): Buffers => ({
  validity: NONE_MISSING,
  values,
  nullCount: 0,
});

function inBatches<T extends Float64Array | CodedNumbers['codes'] | readonly unknown[]>(
  type: DataType,
  values: T,
  buffersOf: (piece: T) => Buffers,
  finish: (batch: Batch<unknown>) => void = () => undefined,
): ArrowColumn<unknown> {
  const BatchOf = batchType(type) as unknown as new (parts: object) => Batch<unknown>;
  const batches: Batch<unknown>[] = [];
  for (let from = 0; from === 0 || from < values.length; from += BATCH_ROWS) {
    const to = Math.min(values.length, from + BATCH_ROWS);
    const piece = (
      Array.isArray(values) ? values.slice(from, to) : (values as Float64Array).subarray(from, to)
    ) as T;
    const batch = new BatchOf({ length: to - from, type, ...buffersOf(piece) });
    finish(batch);
    batches.push(batch);
  }
  return new ArrowColumn(batches, type);
}

/** A bit for each value that is there; Arrow pads buffers to eight bytes. */
function presence(values: Float64Array): Pick<Buffers, 'validity' | 'nullCount'> {
  const validity = new Uint8Array(Math.ceil(values.length / 64) * 8);
  let nullCount = 0;
  let byte = 0;
  for (let i = 0; i < values.length; i++) {
    const value = values[i] as number;
    // Only what is no number differs from itself.
    // biome-ignore lint/suspicious/noSelfCompare: quicker than a call for each of millions
    if (value === value) byte |= 1 << (i & 7);
    else nullCount++;
    if ((i & 7) === 7) {
      validity[i >> 3] = byte;
      byte = 0;
    }
  }
  if ((values.length & 7) !== 0) validity[values.length >> 3] = byte;
  return { validity, nullCount };
}

function bits(values: readonly (boolean | null)[]): Buffers {
  const bytes = Math.ceil(values.length / 64) * 8;
  const validity = new Uint8Array(bytes);
  const set = new Uint8Array(bytes);
  let nullCount = 0;
  values.forEach((value, i) => {
    if (value === null) nullCount++;
    else validity[i >> 3]! |= 1 << (i & 7);
    if (value) set[i >> 3]! |= 1 << (i & 7);
  });
  return { validity, values: set, nullCount };
}

/** The bit that each code stands for, and how many are set. */
function bitsByCode(
  codes: Uint8Array,
  of: Uint8Array,
): { readonly bits: Uint8Array; readonly count: number } {
  const bytes = new Uint8Array(Math.ceil(codes.length / 64) * 8);
  let count = 0;
  let byte = 0;
  for (let i = 0; i < codes.length; i++) {
    const bit = of[codes[i] as number] as number;
    count += bit;
    byte |= bit << (i & 7);
    if ((i & 7) === 7) {
      bytes[i >> 3] = byte;
      byte = 0;
    }
  }
  if ((codes.length & 7) !== 0) bytes[codes.length >> 3] = byte;
  return { bits: bytes, count };
}

/** Codes are written in as few bytes as hold them. */
function byDictionary(coded: CodedTexts): ArrowColumn<unknown> {
  const { codes, levels } = coded.levels.length > coded.codes.length ? onlyUsed(coded) : coded;
  const words = dictionaryOf(levels);
  const [type, Codes] =
    levels.length <= 0x7f
      ? ([int8(), Int8Array] as const)
      : levels.length <= 0x7fff
        ? ([int16(), Int16Array] as const)
        : ([int32(), Int32Array] as const);
  return inBatches(
    dictionary(words.type, type),
    codes,
    (piece) => codeBuffers(piece, new Codes(piece.length)),
    (batch) => (batch as unknown as { setDictionary(column: unknown): void }).setDictionary(words),
  );
}

/** A code below 0 is a missing text; Arrow wants some number in its place, 0. */
function codeBuffers(codes: Int32Array, values: Int8Array | Int16Array | Int32Array): Buffers {
  const validity = new Uint8Array(Math.ceil(codes.length / 64) * 8);
  let nullCount = 0;
  let byte = 0;
  for (let i = 0; i < codes.length; i++) {
    const code = codes[i] as number;
    if (code >= 0) {
      byte |= 1 << (i & 7);
      values[i] = code;
    } else nullCount++;
    if ((i & 7) === 7) {
      validity[i >> 3] = byte;
      byte = 0;
    }
  }
  if ((codes.length & 7) !== 0) validity[codes.length >> 3] = byte;
  return { validity, values, nullCount };
}

/** A piece of a column with more distinct texts than the piece has rows need not carry them all. */
function onlyUsed({ codes, levels }: CodedTexts): CodedTexts {
  const placeOf = new Int32Array(levels.length).fill(-1);
  const used: string[] = [];
  const places = codes.map((code) => {
    if (code < 0) return -1;
    if (placeOf[code] === -1) placeOf[code] = used.push(levels[code] as string) - 1;
    return placeOf[code] as number;
  });
  return { codes: places, levels: used };
}

/** The pieces of a table share their lists of texts: each list is written once. */
const written = new WeakMap<readonly (string | null)[], ArrowColumn<unknown>>();

/** In one batch: further ones would be additions to it. */
function dictionaryOf(words: readonly (string | null)[]): ArrowColumn<unknown> {
  const known = written.get(words);
  if (known) return known;
  const type = utf8();
  const BatchOf = batchType(type) as unknown as new (parts: object) => Batch<unknown>;
  const column = new ArrowColumn([new BatchOf({ length: words.length, type, ...textBuffers(words) })], type);
  written.set(words, column);
  return column;
}

/** More signs than this are not put together in one text first. */
const MOST_SIGNS = 1 << 24;

function textBuffers(texts: readonly (string | null)[]): Buffers {
  const encoder = new TextEncoder();
  const signs = texts.reduce((sum, text) => sum + (text?.length ?? 0), 0);
  const together = signs <= MOST_SIGNS ? encoder.encode(texts.join('')) : null;
  // As many bytes as signs: each sign is a byte, and no text need be encoded by itself.
  const plain = together?.length === signs ? together : null;
  const encoded = plain ? null : texts.map((text) => encoder.encode(text ?? ''));
  const offsets = new Int32Array(texts.length + 1);
  const validity = new Uint8Array(Math.ceil(texts.length / 64) * 8);
  let nullCount = 0;
  texts.forEach((text, i) => {
    const length = encoded ? (encoded[i] as Uint8Array).length : (text?.length ?? 0);
    offsets[i + 1] = (offsets[i] as number) + length;
    if (text === null) nullCount++;
    else validity[i >> 3]! |= 1 << (i & 7);
  });
  return { validity, offsets, values: plain ?? joinedBytes(encoded ?? []), nullCount };
}
