import { expect, test } from 'vitest';
import { severalPieces } from '../../src/engine/several-pieces.ts';

/** The head 0 and pieces 1, 2 and so on. */
async function* answer(pieces: number): AsyncGenerator<Uint8Array> {
  for (let k = 0; k <= pieces; k++) yield Uint8Array.of(k);
}

test.each([
  [0, [[0]]],
  [1, [[0, 1]]],
  [2, [[0, 1, 2]]],
  [
    3,
    [
      [0, 1, 2],
      [0, 3],
    ],
  ],
  [
    4,
    [
      [0, 1, 2],
      [0, 3, 4],
    ],
  ],
])('of %i pieces each is handed over once, two at a time after the head', async (pieces, expected) => {
  const taken: number[][] = [];
  await severalPieces(answer(pieces), 2, (some) => taken.push(some.map((bytes) => bytes[0]!)));
  expect(taken).toEqual(expected);
});
