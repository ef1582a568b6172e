import { describe, expect, it } from 'vitest';
import { filledCells } from '../../src/stats/filled-cells.ts';

describe('the covariates of cells that are not 0', () => {
  it('are those of the row that each number names, of one predictor after the other', () => {
    const onset = { columns: 3, values: Float64Array.of(1, 0, 2, 1, 3, 0) };
    const clearing = { columns: 1, values: Float64Array.of(1, 0) };
    // Five cells share two rows of covariates.
    const alike = { numberOf: Int32Array.of(0, 1, 1, 0, 1), firstRow: Int32Array.of(0, 1) };
    expect(filledCells([onset, clearing], 5, alike)).toEqual({
      q: 4,
      numberOf: alike.numberOf,
      start: Int32Array.of(0, 3, 5),
      place: Int32Array.of(0, 2, 3, 0, 1),
      owner: Uint8Array.of(0, 0, 1, 0, 0),
      value: Float64Array.of(1, 2, 1, 1, 3),
    });
  });

  it('are the same where there are so many that they are counted first', () => {
    const columns = 100;
    const n = 45_000;
    const values = new Float64Array(n * columns);
    for (let cell = 0; cell < n; cell += 1) values[cell * columns + (cell % columns)] = cell + 1;
    const each = Int32Array.from({ length: n }, (_, cell) => cell);
    const { start, place, value } = filledCells([{ columns, values }], n, {
      numberOf: each,
      firstRow: each,
    });
    expect([start.length, start[n], place.length, value.length]).toEqual([n + 1, n, n, n]);
    expect(place.every((at, cell) => at === cell % columns)).toBe(true);
    expect(value.every((of, cell) => of === cell + 1)).toBe(true);
  });
});
