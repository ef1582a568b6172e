import { afterEach, expect, test, vi } from 'vitest';
import { letGo, makeRoom } from '../../src/core/let-go.ts';

afterEach(() => vi.unstubAllGlobals());

test('a buffer asked for to have others given back is given back itself', () => {
  const left: number[] = [];
  vi.stubGlobal(
    'ArrayBuffer',
    class {
      transfer(bytes: number): void {
        left.push(bytes);
      }
    },
  );
  letGo();
  expect(left).toEqual([0]);
});

test('nothing happens where there is no room, or where buffers cannot be given back', () => {
  vi.stubGlobal('ArrayBuffer', () => {
    throw new RangeError('Array buffer allocation failed');
  });
  expect(letGo).not.toThrow();
  vi.stubGlobal('ArrayBuffer', class {});
  expect(letGo).not.toThrow();
});

test('room is made for columns of a large herd, each time that much of it has been used', () => {
  let looks = 0;
  vi.stubGlobal(
    'ArrayBuffer',
    class {
      transfer(): void {
        looks += 1;
      }
    },
  );
  for (let k = 0; k < 100; k += 1) makeRoom(1_250_000, 8 * 1_250_000);
  expect(looks).toBe(0);
  for (let k = 0; k < 100; k += 1) makeRoom(2_000_000, 8 * 2_000_000);
  // 1.6 GB, by the quarter of one.
  expect(looks).toBe(6);
});
