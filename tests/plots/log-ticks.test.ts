import fc from 'fast-check';
import { expect, it } from 'vitest';
import { logTicks } from '../../src/plots/log-ticks.ts';

it.each([
  [[0.5, 2], 6, [0.5, 0.7, 1, 1.5, 2]],
  [[0.5, 2], 3, [0.5, 1, 2]],
  [[0.8, 1.3], 6, [0.8, 1, 1.2]],
  [[0.02, 40], 6, [0.1, 1, 10]],
  [[0.02, 40], 8, [0.03, 0.1, 0.3, 1, 3, 10, 30]],
  [[1e-6, 1e6], 4, [1e-4, 1, 1e4]],
  [[1.01, 1.13], 6, null],
] as const)('figures from %j, %d at most: %j', (domain, most, ticks) => {
  expect(logTicks(domain, most)).toEqual(ticks);
});

it('gives round figures within the axis, in order and no more than there is room for, 1 among them where it has a place', () => {
  const from = fc.double({ min: -6, max: 6, noNaN: true });
  const length = fc.double({ min: 0.5, max: 8, noNaN: true });
  fc.assert(
    fc.property(from, length, fc.integer({ min: 2, max: 6 }), (power, decades, most) => {
      const [low, high] = [10 ** power, 10 ** (power + decades)];
      const ticks = logTicks([low, high], most) ?? [];
      expect(ticks).toEqual([...ticks].sort((a, b) => a - b));
      expect(ticks.length).toBeLessThanOrEqual(Math.max(most, 3));
      expect(ticks.length).toBeGreaterThan(decades < 1 ? 0 : 1);
      expect(ticks.every((tick) => tick >= low && tick <= high)).toBe(true);
      if (low < 1 && high > 1) expect(ticks).toContain(1);
    }),
  );
});
