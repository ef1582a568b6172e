import { type HeldCriterion, heldCriterion, momentRatios } from './nested-held.ts';
import { criterionSlope, evaluateSloped } from './nested-sloped.ts';
import type { NestedSums } from './nested-sums.ts';

type Ratios = readonly [number, number];

/** A step of the logarithms below this is the last with β held; the rest is left to the criterion itself. */
const ROUGH_STEP = 1e-2;
/** After a step of this size what is left is smaller by the share by which the curvature is off. */
const LAST_STEP = 1e-6;
const LONGEST_STEP = 2;

/**
 * Where the criterion of a large record has its least value, by Newton's steps on the logarithms of both ratios: from
 * moments, with β held until near, then with the criterion's own slope and the curvature of the held one. Null where that
 * does not lead to a hollow: near 0, or where the record says little.
 */
export function newtonRatios(sums: NestedSums): Ratios | null {
  let ratios = momentRatios(sums);
  for (let turn = 0; turn < 20 && ratios; turn++) {
    const held = heldCriterion(sums, ...ratios);
    const step = logStep(ratios, held.gradient, held.curvature);
    if (!step) return null;
    ratios = moved(ratios, step);
    if (longest(step) < ROUGH_STEP) break;
  }
  // So near that one curvature serves for all that is left.
  const curvature = ratios && heldCriterion(sums, ...ratios).curvature;
  for (let turn = 0; turn < 10 && ratios && curvature; turn++) {
    const at = evaluateSloped(sums, ...ratios);
    if (!at) return null;
    const step = logStep(ratios, criterionSlope(sums, at), curvature);
    if (!step) return null;
    ratios = moved(ratios, step);
    if (longest(step) < LAST_STEP) return ratios;
  }
  return null;
}

/** −H⁻¹g in the logarithms of the ratios; null where H is not positive definite, or the step is far too long. */
function logStep(
  [l1, l2]: Ratios,
  gradient: Ratios,
  [h11, h12, h22]: HeldCriterion['curvature'],
): Ratios | null {
  const [g1, g2] = [l1 * gradient[0], l2 * gradient[1]];
  const [a, b, c] = [l1 * l1 * h11 + g1, l1 * l2 * h12, l2 * l2 * h22 + g2];
  const determinant = a * c - b * b;
  if (!(a > 0 && determinant > 0)) return null;
  const step = [(b * g2 - c * g1) / determinant, (b * g1 - a * g2) / determinant] as const;
  return longest(step) < LONGEST_STEP ? step : null;
}

const moved = (ratios: Ratios, step: Ratios): Ratios => [
  ratios[0] * Math.exp(step[0]),
  ratios[1] * Math.exp(step[1]),
];

const longest = (step: Ratios): number => Math.max(Math.abs(step[0]), Math.abs(step[1]));
