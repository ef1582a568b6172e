import { joinedBytes } from './joined-bytes.ts';

// The compact protocol of Thrift, in which a Parquet file's footer is written:
// https://github.com/apache/thrift/blob/master/doc/specs/thrift-compact-protocol.md

const TYPE = {
  true: 1,
  false: 2,
  i8: 3,
  i16: 4,
  i32: 5,
  i64: 6,
  double: 7,
  text: 8,
  list: 9,
  set: 10,
} as const;
const [MAP, STRUCT, UUID] = [11, 12, 13];
/** Deeper than any footer: what lies deeper is noise. */
const DEEPEST = 32;

/** A value of a field; of a text its bytes, of a map nothing. Whole numbers beyond 2^53 are rounded. */
export type ThriftValue = boolean | number | Uint8Array | readonly ThriftValue[] | ThriftStruct | null;

interface ThriftField {
  readonly type: number;
  readonly value: ThriftValue;
  /** Where its value begins and ends. */
  readonly from: number;
  readonly to: number;
}

/** Fields by their numbers, in the order in which they stand. */
export type ThriftStruct = ReadonlyMap<number, ThriftField>;

/** The struct at the beginning of some bytes. Throws where they hold none. */
export function readThrift(bytes: Uint8Array): ThriftStruct {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  let at = 0;
  const byte = (): number => view.getUint8(at++);

  const varint = (): number => {
    let value = 0;
    for (let factor = 1, k = 0; k < 10; factor *= 128, k++) {
      const next = byte();
      value += (next & 0x7f) * factor;
      if (next < 0x80) return value;
    }
    throw new RangeError('a number of more than ten bytes');
  };
  const signed = (): number => {
    const value = varint();
    return value % 2 === 0 ? value / 2 : -(value + 1) / 2;
  };
  const skip = (count: number): number => {
    if (count > bytes.length - at) throw new RangeError('a value longer than its bytes');
    at += count;
    return at - count;
  };

  const read = (type: number, depth: number): ThriftValue => {
    if (depth > DEEPEST) throw new RangeError('structs in too many others');
    if (type === TYPE.i8) return view.getInt8(at++);
    if (type === TYPE.i16 || type === TYPE.i32 || type === TYPE.i64) return signed();
    if (type === TYPE.double) return view.getFloat64(skip(8), true);
    if (type === TYPE.text) {
      const length = varint();
      return bytes.subarray(skip(length), at);
    }
    if (type === TYPE.list || type === TYPE.set) return listOf(depth);
    if (type === STRUCT) return structOf(depth);
    if (type === UUID) return bytes.subarray(skip(16), at);
    if (type !== MAP) throw new RangeError(`no type of values: ${type}`);
    const count = varint();
    const types = count === 0 ? 0 : byte();
    for (let k = 0; k < count; k++) {
      itemOf(types >> 4, depth);
      itemOf(types & 15, depth);
    }
    return null;
  };
  /** In a list and a map truth takes a byte, which it does not as a field. */
  const itemOf = (type: number, depth: number): ThriftValue =>
    type === TYPE.true || type === TYPE.false ? byte() === 1 : read(type, depth + 1);

  const listOf = (depth: number): readonly ThriftValue[] => {
    const head = byte();
    const count = head >> 4 === 15 ? varint() : head >> 4;
    // Every value takes a byte at least.
    if (count > bytes.length - at) throw new RangeError('a list longer than its bytes');
    return Array.from({ length: count }, () => itemOf(head & 15, depth));
  };

  const structOf = (depth: number): ThriftStruct => {
    const fields = new Map<number, ThriftField>();
    for (let id = 0, head = byte(); head !== 0; head = byte()) {
      id = head >> 4 === 0 ? signed() : id + (head >> 4);
      const type = head & 15;
      const from = at;
      const isTruth = type === TYPE.true || type === TYPE.false;
      const value = isTruth ? type === TYPE.true : read(type, depth + 1);
      fields.set(id, { type, value, from, to: at });
    }
    return fields;
  };

  return structOf(0);
}

/** A field to be written: the type of its value, and the bytes of it. */
export interface FieldBytes {
  readonly type: number;
  readonly bytes: Uint8Array;
}

/** A struct of some fields, by their numbers. */
export function writeStruct(fields: ReadonlyMap<number, FieldBytes>): Uint8Array {
  const parts: Uint8Array[] = [];
  let last = 0;
  for (const [id, { type, bytes }] of [...fields].sort(([a], [b]) => a - b)) {
    const delta = id - last;
    parts.push(
      delta <= 15 ? Uint8Array.of((delta << 4) | type) : Uint8Array.of(type, ...varintBytes(id * 2)),
    );
    parts.push(bytes);
    last = id;
  }
  return joinedBytes([...parts, Uint8Array.of(0)]);
}

export function textField(text: string): FieldBytes {
  const bytes = new TextEncoder().encode(text);
  return { type: TYPE.text, bytes: joinedBytes([varintBytes(bytes.length), bytes]) };
}

/** A list of structs that are written already. */
export function structsField(structs: readonly Uint8Array[]): FieldBytes {
  const head = Uint8Array.of(0xf0 | STRUCT, ...varintBytes(structs.length));
  return { type: TYPE.list, bytes: joinedBytes([head, ...structs]) };
}

function varintBytes(value: number): Uint8Array {
  const bytes: number[] = [];
  let left = value;
  for (; left >= 128; left = Math.floor(left / 128)) bytes.push((left % 128) | 0x80);
  return Uint8Array.of(...bytes, left);
}
