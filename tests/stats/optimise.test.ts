import { describe, expect, it } from 'vitest';
import { isUnavailable } from '../../src/core/outcome.ts';
import { searchBox } from '../../src/stats/box-search.ts';
import { minimise, numericGradient } from '../../src/stats/optimise.ts';

/** Rosenbrock 1960, Comput J 3:175–184: minimum 0 at (1, 1). */
const rosenbrock = (x: Float64Array) => ({
  value: 100 * (x[1]! - x[0]! ** 2) ** 2 + (1 - x[0]!) ** 2,
  gradient: Float64Array.of(
    -400 * x[0]! * (x[1]! - x[0]! ** 2) - 2 * (1 - x[0]!),
    200 * (x[1]! - x[0]! ** 2),
  ),
});
const rosenbrockHessian = (x: Float64Array) =>
  Float64Array.of(1200 * x[0]! ** 2 - 400 * x[1]! + 2, -400 * x[0]!, -400 * x[0]!, 200);

describe('minimise', () => {
  it.each([
    ['quasi-Newton', {}],
    ['damped Newton', { hessian: rosenbrockHessian }],
  ])('finds the bottom of a curved valley: %s', (_, options) => {
    const found = minimise(rosenbrock, Float64Array.of(-1.2, 1), options);
    if (isUnavailable(found)) throw new Error(found.sentence);
    expect(found.x[0]).toBeCloseTo(1, 6);
    expect(found.x[1]).toBeCloseTo(1, 6);
  });

  it('stops on a lower bound where the slope pushes against it', () => {
    const found = minimise(rosenbrock, Float64Array.of(2, 3), { lower: Float64Array.of(1.5, 0) });
    if (isUnavailable(found)) throw new Error(found.sentence);
    expect(found.x[0]).toBe(1.5);
    expect(found.x[1]).toBeCloseTo(2.25, 6); // f(1.5, y) is least at y = 1.5²
  });

  it('says so when there is no minimum', () => {
    const found = minimise((x) => ({ value: -x[0]!, gradient: Float64Array.of(-1) }), Float64Array.of(0));
    expect(found).toMatchObject({ unavailable: 'not-converged' });
  });

  it('survives a function that is not allowed everywhere', () => {
    const found = minimise(
      (x) => ({
        value: x[0]! > 0 ? x[0]! - Math.log(x[0]!) : Number.POSITIVE_INFINITY,
        gradient: Float64Array.of(1 - 1 / x[0]!),
      }),
      Float64Array.of(50),
    );
    if (isUnavailable(found)) throw new Error(found.sentence);
    expect(found.x[0]).toBeCloseTo(1, 6);
  });

  it('rejects a start that has no value and a gradient that is not a number', () => {
    const bad = () => ({ value: 0, gradient: Float64Array.of(Number.NaN) });
    expect(() => minimise(bad, Float64Array.of(0))).toThrow(/gradient must be finite/);
    const nowhere = () => ({ value: Number.NaN, gradient: Float64Array.of(0) });
    expect(() => minimise(nowhere, Float64Array.of(0))).toThrow(/start must have a finite value/);
  });
});

describe('numericGradient', () => {
  it('agrees with the analytic gradient', () => {
    const at = Float64Array.of(-1.2, 0.7);
    const numeric = numericGradient((x) => rosenbrock(x).value, at);
    rosenbrock(at).gradient.forEach((value, i) => {
      expect(Math.abs(numeric[i]! / value - 1)).toBeLessThan(1e-8);
    });
  });
});

describe('searchBox', () => {
  it('finds an inner minimum in one and two dimensions', () => {
    const one = searchBox((x) => (x[0]! - 0.3) ** 2, [0], [10]);
    expect(one.x[0]).toBeCloseTo(0.3, 6);
    const two = searchBox((x) => rosenbrock(x).value, [0, 0], [4, 4]);
    expect(two.x[0]).toBeCloseTo(1, 5);
    expect(two.x[1]).toBeCloseTo(1, 5);
  });

  it('finds a minimum on the edge and in the corner exactly', () => {
    expect(searchBox((x) => x[0]! + (x[1]! - 1) ** 2, [0, 0], [4, 4]).x[0]).toBe(0);
    expect(Array.from(searchBox((x) => x[0]! + 2 * x[1]!, [0, 0], [4, 4]).x)).toEqual([0, 0]);
  });
});
