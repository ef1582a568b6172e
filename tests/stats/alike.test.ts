import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { numberAlike, type RowBlock } from '../../src/stats/alike.ts';

/** The same by comparing every row with those before it. */
function compared(rows: readonly (readonly number[])[], used: readonly number[]): number[] {
  const seen: (readonly number[])[] = [];
  return rows.map((row, i) => {
    if (used[i] === 0) return -1;
    const known = seen.findIndex((other) => other.every((value, j) => value === row[j]));
    return known >= 0 ? known : seen.push(row) - 1;
  });
}

const asBlock = (rows: readonly (readonly number[])[], width: number): RowBlock => ({
  matrix: Float64Array.from(rows.flat()),
  width,
});

describe('numberAlike', () => {
  it('numbers rows that are equal in every column, and no others, alike', () => {
    // Marks, days, any numbers, both zeros, and whole numbers so far apart that all digits do not fit in one number.
    const value = fc.oneof(
      fc.integer({ min: -1, max: 2 }),
      fc.constantFrom(0, -0, 0.1, 0.1 + Number.EPSILON / 8, 365, -1e15, 1e15, 1e-300, -1e300, 1e300),
    );
    const row = fc.array(value, { minLength: 4, maxLength: 4 });
    const table = fc.array(fc.tuple(row, fc.integer({ min: 0, max: 3 })), { minLength: 1, maxLength: 300 });
    fc.assert(
      fc.property(table, (given) => {
        const rows = given.map(([values]) => values);
        const used = given.map(([, each]) => each);
        const columns = [0, 1].map((j) => rows.map((values) => values[j]!));
        const block = asBlock(
          rows.map((values) => values.slice(2)),
          2,
        );
        const { numberOf, firstRow } = numberAlike([...columns, block], rows.length, used);
        const expected = compared(rows, used);
        expect([...numberOf]).toEqual(expected);
        expect([...firstRow]).toEqual(
          Array.from({ length: Math.max(-1, ...expected) + 1 }, (_, k) => expected.indexOf(k)),
        );
      }),
    );
  });

  it('tells thousands of mixes of many columns apart', () => {
    const n = 20_000;
    const width = 9;
    const matrix = Float64Array.from({ length: n * width }, (_, at) =>
      at % width === 0 ? Math.log(1 + (Math.floor(at / width) % 3001)) : (at * at) % 4096,
    );
    const { numberOf, firstRow } = numberAlike([{ matrix, width }], n);
    const texts = Array.from({ length: n }, (_, row) =>
      matrix.subarray(row * width, row * width + width).join(' '),
    );
    expect(firstRow.length).toBe(new Set(texts).size);
    expect(texts.every((text, row) => text === texts[firstRow[numberOf[row]!]!])).toBe(true);
    expect(firstRow.length).toBeGreaterThan(3000);
  });

  it('refuses what is not finite, wherever it stands', () => {
    const endless = asBlock([[0, Number.POSITIVE_INFINITY]], 2);
    expect(() => numberAlike([endless], 1, [0])).toThrow(
      'column must hold finite numbers: Infinity in row 0',
    );
    expect(() => numberAlike([[1, Number.NaN]], 2)).toThrow('column must hold finite numbers: NaN in row 1');
    expect(() => numberAlike([endless], 2)).toThrow('matrix must hold 2 × 2 values: 2');
  });
});
