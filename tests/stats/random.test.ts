import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/stats/random.ts';

const draw = <T>(n: number, f: () => T) => Array.from({ length: n }, f);
const mean = (values: number[]) => values.reduce((a, b) => a + b, 0) / values.length;

describe('seededRandom', () => {
  it('repeats a stream for a seed and differs for the next seed', () => {
    const first = draw(5, seededRandom(7).normal);
    expect(draw(5, seededRandom(7).normal)).toEqual(first);
    expect(draw(5, seededRandom(8).normal)).not.toEqual(first);
  });

  it('has the moments it should (4 standard errors of 20 000 draws)', () => {
    const random = seededRandom(11);
    const n = 20_000;
    const normal = draw(n, () => random.normal());
    expect(Math.abs(mean(normal))).toBeLessThan(4 / Math.sqrt(n));
    expect(Math.abs(mean(normal.map((v) => v * v)) - 1)).toBeLessThan((4 * Math.SQRT2) / Math.sqrt(n));
    expect(Math.abs(mean(draw(n, random.uniform)) - 0.5)).toBeLessThan(4 / Math.sqrt(12 * n));
    expect(Math.abs(mean(draw(n, () => random.exponential(2))) - 0.5)).toBeLessThan(2 / Math.sqrt(n));
    // neighbouring seeds must not be alike
    const firsts = draw(n, () => 0).map((_, seed) => seededRandom(seed).uniform());
    expect(Math.abs(mean(firsts) - 0.5)).toBeLessThan(4 / Math.sqrt(12 * n));
  });

  it('draws whole numbers with both ends, shuffles without loss and resamples n of n', () => {
    const random = seededRandom(3);
    expect(new Set(draw(200, () => random.integer(2, 5)))).toEqual(new Set([2, 3, 4, 5]));
    const values = [1, 2, 3, 4, 5, 6, 7, 8];
    const shuffled = random.shuffle(values);
    expect(shuffled).not.toEqual(values);
    expect([...shuffled].sort()).toEqual(values);
    const weights = random.multinomialWeights(50);
    expect(weights.reduce((a, b) => a + b, 0)).toBe(50);
    expect(weights.some((w) => w === 0)).toBe(true);
  });

  it('names a bad seed and a bad range', () => {
    expect(() => seededRandom(1.5)).toThrow('seed must be a whole number: 1.5');
    expect(() => seededRandom(1).integer(3, 2)).toThrow(/ascending: 3, 2/);
  });
});
