import { describe, expect, it } from 'vitest';
import {
  readThrift,
  structsField,
  type ThriftStruct,
  type ThriftValue,
  textField,
  writeStruct,
} from '../../src/engine/thrift.ts';

/** Values alone, maps as objects, bytes as text. */
function told(value: ThriftValue): unknown {
  if (value instanceof Map)
    return Object.fromEntries([...(value as ThriftStruct)].map(([id, field]) => [id, told(field.value)]));
  if (value instanceof Uint8Array) return new TextDecoder().decode(value);
  return Array.isArray(value) ? value.map(told) : value;
}

const read = (...bytes: number[]): unknown => told(readThrift(Uint8Array.from(bytes)));

// By hand, after https://github.com/apache/thrift/blob/master/doc/specs/thrift-compact-protocol.md
describe('a struct in Thrift’s compact protocol', () => {
  it('has fields by the difference of their numbers, or by the number itself', () => {
    // 1: i32 −1; 3: i32 150; then 200, written as 400 in zigzag.
    expect(read(0x15, 0x01, 0x25, 0xac, 0x02, 0x05, 0x90, 0x03, 0x0a, 0)).toEqual({ 1: -1, 3: 150, 200: 5 });
  });

  it('has truth in the type of a field, and in a byte in lists', () => {
    expect(read(0x11, 0x12, 0x19, 0x31, 1, 2, 0, 0)).toEqual({ 1: true, 2: false, 3: [true, false, false] });
  });

  it('has texts, doubles, bytes, longs, structs, sets and maps, which are passed over', () => {
    const double = [...new Uint8Array(new Float64Array([82.5]).buffer)];
    expect(read(0x18, 2, 0x68, 0x69, 0x17, ...double, 0x13, 0xff, 0x16, 0x0a, 0)).toEqual({
      1: 'hi',
      2: 82.5,
      3: -1,
      4: 5,
    });
    expect(read(0x1c, 0x15, 2, 0, 0x1a, 0x15, 4, 0x1b, 1, 0x85, 1, 0x61, 8, 0x15, 6, 0)).toEqual({
      1: { 1: 1 },
      2: [2],
      3: null,
      4: 3,
    });
    expect(read(0x1b, 0, 0x15, 6, 0)).toEqual({ 1: null, 2: 3 });
  });

  it('is refused where it is cut short, claims more than there is, or lies too deep', () => {
    expect(() => read(0x15)).toThrow(RangeError);
    expect(() => read(0x18, 5, 0x61, 0)).toThrow('longer than its bytes');
    expect(() => read(0x19, 0xf5, 0xff, 0xff, 0xff, 0x7f)).toThrow('a list longer');
    expect(() => read(0x15, ...new Array<number>(11).fill(0xff))).toThrow('ten bytes');
    expect(() => read(0x1f, 0)).toThrow('no type');
    expect(() => read(...new Array<number>(1000).fill(0x1c))).toThrow('too many others');
  });

  it('is read as it was written', () => {
    const pair = writeStruct(
      new Map([
        [2, textField('x'.repeat(300))],
        [1, textField('é')],
      ]),
    );
    const far = { type: 5, bytes: Uint8Array.of(2) };
    const struct = writeStruct(
      new Map([
        [5, structsField([pair, pair])],
        [300, far],
      ]),
    );
    const each = { 1: 'é', 2: 'x'.repeat(300) };
    expect(told(readThrift(struct))).toEqual({ 5: [each, each], 300: 1 });
  });
});
