import chiSquareCdfOf from '@stdlib/stats-base-dists-chisquare-cdf';
import chiSquareQuantileOf from '@stdlib/stats-base-dists-chisquare-quantile';
import fCdfOf from '@stdlib/stats-base-dists-f-cdf';
import fQuantileOf from '@stdlib/stats-base-dists-f-quantile';
import normalCdfOf from '@stdlib/stats-base-dists-normal-cdf';
import normalQuantileOf from '@stdlib/stats-base-dists-normal-quantile';
import studentCdfOf from '@stdlib/stats-base-dists-t-cdf';
import studentQuantileOf from '@stdlib/stats-base-dists-t-quantile';
import { chebyshevOf } from './chebyshev.ts';

/** Standard normal P(Z ≤ z). */
export function normalCdf(z: number): number {
  return normalCdfOf(z, 0, 1);
}

/** Standard normal quantile, 0 < p < 1. */
export function normalQuantile(p: number): number {
  checkProbability(p);
  return normalQuantileOf(p, 0, 1);
}

/** Student's t, P(T ≤ t). */
export function studentCdf(t: number, degreesOfFreedom: number): number {
  checkDegrees(degreesOfFreedom);
  return studentCdfOf(t, degreesOfFreedom);
}

export function studentQuantile(p: number, degreesOfFreedom: number): number {
  checkProbability(p);
  checkDegrees(degreesOfFreedom);
  return studentQuantileOf(p, degreesOfFreedom);
}

/** Chi-square, P(X ≤ x). */
export function chiSquareCdf(x: number, degreesOfFreedom: number): number {
  checkDegrees(degreesOfFreedom);
  return chiSquareCdfOf(x, degreesOfFreedom);
}

export function chiSquareQuantile(p: number, degreesOfFreedom: number): number {
  checkProbability(p);
  checkDegrees(degreesOfFreedom);
  return chiSquareQuantileOf(p, degreesOfFreedom);
}

/** F, P(X ≤ x). */
export function fCdf(x: number, numerator: number, denominator: number): number {
  checkDegrees(numerator);
  checkDegrees(denominator);
  return fCdfOf(x, numerator, denominator);
}

export function fQuantile(p: number, numerator: number, denominator: number): number {
  checkProbability(p);
  checkDegrees(numerator);
  checkDegrees(denominator);
  return fQuantileOf(p, numerator, denominator);
}

/** Two-sided normal multiplier of a confidence level: 1.959964 for 0.95. */
export function normalMultiplier(confidence = 0.95): number {
  checkConfidence(confidence);
  return normalQuantile((1 + confidence) / 2);
}

/** Two-sided Student multiplier of a confidence level. */
export function studentMultiplier(degreesOfFreedom: number, confidence = 0.95): number {
  checkConfidence(confidence);
  checkDegrees(degreesOfFreedom);
  const x = 1 / degreesOfFreedom;
  const piece = PIECES.findIndex((end) => x <= end);
  if (piece < 0) return studentQuantile((1 + confidence) / 2, degreesOfFreedom);
  const pieces = multipliers.get(confidence) ?? [];
  multipliers.set(confidence, pieces);
  pieces[piece] ??= multiplierPiece(piece, confidence);
  return pieces[piece](x);
}

/**
 * Each foot and horse has degrees of freedom of its own, while the quantile takes some 50 µs: of one confidence it is a
 * smooth function of 1/ν, and by pieces that end here, each through so many of its values, as exact as they are.
 */
const PIECES = [0.06, 0.25, 0.6, 1] as const;
const POINTS = 17;
/** By confidence, the pieces that were asked for. */
const multipliers = new Map<number, ((x: number) => number)[]>();

function multiplierPiece(piece: number, confidence: number): (x: number) => number {
  const quantile = (x: number): number => studentQuantile((1 + confidence) / 2, 1 / x);
  return chebyshevOf(quantile, PIECES[piece - 1] ?? 0, PIECES[piece]!, POINTS);
}

export function checkConfidence(confidence: number): void {
  if (!(confidence > 0 && confidence < 1)) {
    throw new Error(`confidence must lie between 0 and 1: ${confidence}`);
  }
}

function checkProbability(p: number): void {
  if (!(p > 0 && p < 1)) throw new Error(`p must lie between 0 and 1: ${p}`);
}

function checkDegrees(value: number): void {
  if (!(value > 0)) throw new Error(`degrees of freedom must be positive: ${value}`);
}
