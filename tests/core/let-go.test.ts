import { afterEach, expect, test, vi } from 'vitest';
import { letGo } from '../../src/core/let-go.ts';

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
