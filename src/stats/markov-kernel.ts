import type { CellKernel } from './predictor-model.ts';

/**
 * Log-likelihood of one look at a two-state continuous-time Markov chain, in the predictors
 * (log q01, log q10), with first and second derivatives. With a = q01·t, b = q10·t, s = a + b and
 * G(s) = (1 − e^−s)/s: P01 = aG, P10 = bG (Kalbfleisch & Lawless 1985, J Am Stat Assoc 80:863–871, two states).
 */
export function markovKernel(
  start: ArrayLike<number>,
  end: ArrayLike<number>,
  time: ArrayLike<number>,
): CellKernel {
  return {
    predictors: 2,
    at(cell, eta, out) {
      const t = time[cell]!;
      const a = Math.exp(eta[0]!) * t;
      const b = Math.exp(eta[1]!) * t;
      // Leaving state 1 is leaving state 0 with the two predictors changing places.
      const from1 = start[cell] === 1;
      leave(from1 ? b : a, from1 ? a : b, start[cell] !== end[cell], from1, out);
    },
  };
}

/** Derivatives for a start in the state that is left at `a` and returned to at `b`; `swap` orders the output. */
function leave(a: number, b: number, moved: boolean, swap: boolean, out: Float64Array): void {
  const s = a + b;
  const [g, g1, g2] = decay(s);
  const p = moved ? a * g : Math.exp(-s) + b * g;
  const sign = moved ? 1 : -1;
  const dA = sign * (a * g + a * a * g1);
  const dB = sign * a * b * g1;
  const dAA = sign * (a * g + 3 * a * a * g1 + a * a * a * g2);
  const dAB = sign * a * b * (g1 + a * g2);
  const dBB = sign * a * b * (g1 + b * g2);
  const lA = dA / p;
  const lB = dB / p;
  const hAA = dAA / p - lA * lA;
  const hBB = dBB / p - lB * lB;
  out[0] = Math.log(p);
  out[1] = swap ? lB : lA;
  out[2] = swap ? lA : lB;
  out[3] = swap ? hBB : hAA;
  out[4] = dAB / p - lA * lB;
  out[5] = swap ? hAA : hBB;
}

/** G(s) = (1 − e^−s)/s and its first two derivatives; by series below 1, where the quotients cancel. */
export function decay(s: number): [number, number, number] {
  if (s > 1) {
    const e = Math.exp(-s);
    const g = (1 - e) / s;
    const g1 = (e - g) / s;
    return [g, g1, (-e - 2 * g1) / s];
  }
  let g = 0;
  let g1 = 0;
  let g2 = 0;
  // Σ c_n s^n with c_n = (−1)^n/(n + 1)!, by Horner's rule from the highest power down.
  for (let n = COEFFICIENT.length - 1; n >= 0; n -= 1) {
    g2 = g2 * s + 2 * g1;
    g1 = g1 * s + g;
    g = g * s + COEFFICIENT[n]!;
  }
  return [g, g1, g2];
}

const COEFFICIENT = Array.from({ length: 22 }, (_, n) => {
  let factorial = 1;
  for (let i = 2; i <= n + 1; i += 1) factorial *= i;
  return (n % 2 === 0 ? 1 : -1) / factorial;
});
