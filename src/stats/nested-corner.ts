import { heldCriterion } from './nested-held.ts';
import { criterionSlope, evaluateSloped } from './nested-sloped.ts';
import type { NestedSums } from './nested-sums.ts';

type Ratios = readonly [number, number];

/** Shares of what a ratio is where it says as much as the unit's own rows: steps below them end the search. */
const ROUGH_STEP = 1e-3;
const LAST_STEP = 1e-8;

/**
 * The least value of the criterion of a large record that is reached from the corner where both ratios are 0: Newton's steps
 * in the ratios themselves, which near 0 bend it evenly, where their logarithms would creep; a ratio that a step takes below
 * 0 stays there as long as the criterion would fall below it. With β held until near, then with the criterion's own slope.
 * Null where that does not settle. `scale`: what each ratio is where it says as much as the unit's own rows.
 */
export function cornerRatios(sums: NestedSums, scale: Ratios): Ratios | null {
  let ratios: Ratios = [0, 0];
  for (let turn = 0; turn < 30; turn++) {
    const { gradient, curvature } = heldCriterion(sums, ...ratios);
    const next = stepped(ratios, gradient, curvature);
    if (!next) return null;
    const step = longest(ratios, next, scale);
    ratios = next;
    if (step < ROUGH_STEP) break;
  }
  for (let turn = 0; turn < 10; turn++) {
    const at = evaluateSloped(sums, ...ratios);
    if (!at) return null;
    const next = stepped(ratios, criterionSlope(sums, at), heldCriterion(sums, ...ratios).curvature);
    if (!next) return null;
    const step = longest(ratios, next, scale);
    ratios = next;
    if (step < LAST_STEP) return ratios;
  }
  return null;
}

/** Newton's step of those ratios that are not held at 0; null where the criterion does not bend upwards. */
function stepped(
  [l1, l2]: Ratios,
  [g1, g2]: Ratios,
  [h11, h12, h22]: readonly [number, number, number],
): Ratios | null {
  const one = l1 > 0 || g1 < 0;
  const two = l2 > 0 || g2 < 0;
  if (one && two) {
    const determinant = h11 * h22 - h12 * h12;
    if (!(h11 > 0 && determinant > 0)) return null;
    const to = [l1 + (h12 * g2 - h22 * g1) / determinant, l2 + (h12 * g1 - h11 * g2) / determinant] as const;
    if (to[0] >= 0 && to[1] >= 0) return to;
    // One of them is stopped at 0: along that edge the other goes its own way.
    if (to[0] < 0) return [0, Math.max(0, l2 - (g2 - h12 * l1) / h22)];
    return [Math.max(0, l1 - (g1 - h12 * l2) / h11), 0];
  }
  if (one) return h11 > 0 ? [Math.max(0, l1 - g1 / h11), l2] : null;
  if (two) return h22 > 0 ? [l1, Math.max(0, l2 - g2 / h22)] : null;
  return [l1, l2];
}

const longest = (from: Ratios, to: Ratios, scale: Ratios): number =>
  Math.max(Math.abs(to[0] - from[0]) / scale[0], Math.abs(to[1] - from[1]) / scale[1]);
