import { expect, it } from 'vitest';
import { chebyshevOf } from '../../src/stats/chebyshev.ts';

it('gives a polynomial back as it is, with as many points as it has coefficients', () => {
  const cubic = (x: number): number => 2 - x + 3 * x ** 2 - 0.5 * x ** 3;
  const found = chebyshevOf(cubic, -1, 4, 4);
  for (const x of [-1, -0.3, 0, 1, 2.5, 4]) expect(found(x)).toBeCloseTo(cubic(x), 12);
});

it('comes near to other functions as fast as points are added', () => {
  const error = (points: number): number => {
    const found = chebyshevOf(Math.exp, 0, 1, points);
    return Math.max(...[0, 0.1, 0.37, 0.5, 0.99, 1].map((x) => Math.abs(found(x) - Math.exp(x))));
  };
  expect(error(3)).toBeGreaterThan(1e-4);
  expect(error(12)).toBeLessThan(1e-14);
});
