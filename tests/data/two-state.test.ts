import { describe, expect, test } from 'vitest';
import { demoHerd } from '../../data/herd.ts';
import { drawsFor } from '../../data/random.ts';
import { TRUTH } from '../../data/truth.ts';
import { type CycleRates, Problem, runCycle } from '../../data/two-state.ts';

const RUNS = 40_000;

function shareAtEnd(present: boolean, days: number, rates: CycleRates): number {
  const draw = drawsFor(7);
  let ended = 0;
  for (let i = 0; i < RUNS; i++) {
    const problem = new Problem(present, 0);
    runCycle(problem, 0, days, rates, draw);
    if (problem.present) ended++;
  }
  return ended / RUNS;
}
const withinChance = (share: number, expected: number) =>
  Math.abs(share - expected) < 4 * Math.sqrt((expected * (1 - expected)) / RUNS);

describe('one cycle', () => {
  // Constant rates a (onset) and b (clearing) have a closed form: P01(t) = a/(a+b)·(1 − e^(−(a+b)t)).
  const [a, b, years] = [1.2, 2.5, 0.4];
  const rates = { onsetHazard: a * years, exponent: 1, clearingPerYear: b };
  const decay = Math.exp(-(a + b) * years);

  test('constant rates give the two-state closed form from clear', () => {
    expect(withinChance(shareAtEnd(false, years * 365.25, rates), (a / (a + b)) * (1 - decay))).toBe(true);
  });

  test('and from present', () => {
    const expected = a / (a + b) + (b / (a + b)) * decay;
    expect(withinChance(shareAtEnd(true, years * 365.25, rates), expected)).toBe(true);
  });

  test('without clearing, half the cycle holds (1/2)^k of the hazard', () => {
    const whole = 0.8;
    const draw = drawsFor(11);
    let early = 0;
    let any = 0;
    for (let i = 0; i < RUNS; i++) {
      const problem = new Problem(false, 0);
      runCycle(problem, 0, 60, { onsetHazard: whole, exponent: 1.6, clearingPerYear: 1e-9 }, draw);
      const onset = problem.spells[0]?.start;
      if (onset !== undefined) any++;
      if (onset !== undefined && onset < 30) early++;
    }
    expect(withinChance(any / RUNS, 1 - Math.exp(-whole))).toBe(true);
    expect(withinChance(early / RUNS, 1 - Math.exp(-whole * 0.5 ** 1.6))).toBe(true);
  });

  test('with onset and clearing in one cycle, the reset clock agrees with its integral', () => {
    // P01 = H∫₀¹ exp(−H(1−v) − ρd(1−v^(1/k))/365.25) dv, here by the midpoint rule.
    const [hazard, k, clearing, days] = [0.5, 1.6, 4, 80];
    const steps = 20_000;
    let integral = 0;
    for (let i = 0; i < steps; i++) {
      const v = (i + 0.5) / steps;
      integral += Math.exp(-hazard * (1 - v) - (clearing * days * (1 - v ** (1 / k))) / 365.25) / steps;
    }
    const share = shareAtEnd(false, days, { onsetHazard: hazard, exponent: k, clearingPerYear: clearing });
    expect(withinChance(share, hazard * integral)).toBe(true);
  });
});

test('separations in the herd are as many as their hazard summed over clear time', () => {
  // Time change of a counting process: count − cumulative hazard is a martingale with variance the hazard.
  const { hazardAt42Days, exponent, onsetRatio } = TRUTH.separation;
  const count = new Map<string, { seen: number; expected: number }>();
  for (const { horse, visits, feet } of demoHerd()) {
    for (const { problems } of Object.values(feet)) {
      for (const [i, visit] of visits.entries()) {
        if (i === 0) continue;
        const from = visits[i - 1]!.day;
        const scale =
          hazardAt42Days *
          onsetRatio.breedType[horse.breedType] *
          onsetRatio.moisture[visit.moisture] *
          onsetRatio.terrain[visit.terrain];
        const hazard = (day: number) => scale * ((day - from) / 42) ** exponent;
        let expected = hazard(visit.day);
        let seen = 0;
        for (const { start, end } of problems.separation.spells) {
          const begin = Math.max(from, start);
          const stop = Math.min(visit.day, end ?? visit.day);
          if (stop > begin) expected -= hazard(stop) - hazard(begin);
          if (start > from && start <= visit.day) seen++;
        }
        for (const key of [horse.breedType, `${visit.terrain} ground`, `${visit.moisture} moisture`]) {
          const sum = count.get(key) ?? { seen: 0, expected: 0 };
          count.set(key, { seen: sum.seen + seen, expected: sum.expected + expected });
        }
      }
    }
  }
  expect(count.size).toBe(12);
  for (const [key, { seen, expected }] of count) {
    expect(Math.abs(seen - expected) / Math.sqrt(expected), key).toBeLessThan(3.5);
  }
});
