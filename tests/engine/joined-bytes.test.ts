import { expect, it } from 'vitest';
import { joinedBytes, joiningBytes } from '../../src/engine/joined-bytes.ts';

const parts = [Uint8Array.of(1, 2), new Uint8Array(0), Uint8Array.of(3)];

it('joins bytes in order', () => {
  expect(joinedBytes(parts)).toEqual(Uint8Array.of(1, 2, 3));
  expect(joinedBytes([])).toEqual(new Uint8Array(0));
});

it('joins them in the same memory each time, as long as it is large enough', () => {
  const joined = joiningBytes();
  const first = joined(parts);
  expect(first).toEqual(Uint8Array.of(1, 2, 3));
  const second = joined([Uint8Array.of(9, 8)]);
  expect(second).toEqual(Uint8Array.of(9, 8));
  expect(second.buffer).toBe(first.buffer);
  expect(joined([...parts, Uint8Array.of(4)])).toEqual(Uint8Array.of(1, 2, 3, 4));
});
