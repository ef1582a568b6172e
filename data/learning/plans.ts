import { dayFromIso } from '../../src/core/civil-day.ts';
import type { HerdPlan } from '../herd.ts';
import type { Terrain } from '../truth.ts';
import { HEAVY, MIXED, SMALL, type Yard, yard } from '../yards.ts';

/** Two invented herds for learning, told apart by who books late. */
export type LearningHerd = 'first' | 'second';

const span = { firstDay: dayFromIso('2023-11-10')! as number, lastDay: dayFromIso('2026-11-10')! as number };

function yards(exponent: number, rows: readonly Parameters<typeof yard>[]): Yard[] {
  return rows.map((row) => ({ ...yard(...row), exponent }));
}

const SOFT: readonly [Terrain, Terrain] = ['soft', 'soft'];
const HARD: readonly [Terrain, Terrain] = ['rocky', 'firm'];

/** The horse of few visits that a question asks about. */
export const FEW_VISITS: Readonly<Record<LearningHerd, string>> = { first: 'H011', second: 'H008' };

/*
 * Seeds were chosen among fourteen and seven, so that in each herd the analyses that allow for the confounding hold
 * every truth that is asked for, and plain counting misses it: a herd to learn from, not a test of coverage.
 */

/** The late bookers are the wet yards, of heavy horses on soft ground: counted plainly, waiting looks worse than it is. */
const FIRST: HerdPlan = {
  seed: 411_000,
  span,
  yards: yards(1.3, [
    ['Fennick Hall', 10, ...SOFT, 1.2, 66, 'Rowan', HEAVY],
    ['Merebank', 9, ...SOFT, 1.0, 62, 'Linden', HEAVY],
    ['Sedgeholm', 8, 'mixed', 'soft', 0.8, 57, 'Ashe', MIXED],
    ['Harrowmead', 8, 'mixed', 'mixed', 0.1, 48, 'Linden', MIXED],
    ['Dunmarsh', 6, 'mixed', 'soft', 0.7, 39, 'Ashe', MIXED],
    ['Kilnside', 10, 'firm', 'firm', -0.9, 39, 'Rowan', MIXED],
    ['Stonecrop', 9, ...HARD, -0.8, 35, 'Ashe', SMALL],
  ]),
};

/** The late bookers are the dry yards, of small horses on soft ground: counted plainly, waiting looks harmless. */
const SECOND: HerdPlan = {
  seed: 422_000,
  span,
  yards: yards(1.8, [
    ['Larkmere', 10, ...SOFT, -1.1, 66, 'Linden', SMALL],
    ['Oatfield', 9, ...SOFT, -0.9, 62, 'Rowan', SMALL],
    ['Thistledon', 8, 'mixed', 'soft', -0.6, 57, 'Ashe', MIXED],
    ['Chaffcombe', 8, 'mixed', 'mixed', 0.1, 48, 'Linden', MIXED],
    ['Whinhill', 6, 'mixed', 'firm', 0.2, 58, 'Ashe', MIXED],
    ['Rillstone', 10, ...HARD, 1.0, 40, 'Rowan', HEAVY],
    ['Becksedge', 9, 'rocky', 'rocky', 1.2, 36, 'Ashe', HEAVY],
  ]),
};

export const LEARNING_PLANS: Readonly<Record<LearningHerd, HerdPlan>> = { first: FIRST, second: SECOND };
