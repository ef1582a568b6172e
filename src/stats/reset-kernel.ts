import type { CellKernel } from './predictor-model.ts';

/** Nodes in (0, 1) and weights of the 16-point Gauss–Legendre rule, by Newton's method on the Legendre polynomial. */
export const GAUSS_16: { readonly nodes: readonly number[]; readonly weights: readonly number[] } = gauss(16);

function gauss(n: number): { nodes: number[]; weights: number[] } {
  const nodes: number[] = [];
  const weights: number[] = [];
  for (let i = 1; i <= n; i += 1) {
    let z = Math.cos((Math.PI * (i - 0.25)) / (n + 0.5));
    let slope = 0;
    for (let turn = 0; turn < 50; turn += 1) {
      let p = 1;
      let before = 0;
      for (let j = 1; j <= n; j += 1) [p, before] = [((2 * j - 1) * z * p - (j - 1) * before) / j, p];
      slope = (n * (z * p - before)) / (z * z - 1);
      const step = p / slope;
      z -= step;
      if (Math.abs(step) < 1e-15) break;
    }
    nodes.push((1 - z) / 2);
    weights.push(1 / ((1 - z * z) * slope * slope));
  }
  return { nodes, weights };
}

interface ResetProbabilities {
  readonly p01: number;
  readonly p11: number;
  /** d/d(log onset at the reference), d/d(log clearing), d/d(log exponent). */
  readonly gradient01: readonly [number, number, number];
  readonly gradient11: readonly [number, number, number];
}

/**
 * Chance of being in state 1 after `days`, from a start in state 0 (p01) or 1 (p11), when the clock of onset is set
 * to 0 at the start: cumulative onset hazard H(t) = e^eta[0]·(t/reference)^k with log k = eta[2], clearing at
 * e^eta[1] per year. P01 = ∫ h(t) exp(−(H(d) − H(t)) − ρ(d − t)) dt is the exact solution of the forward equation
 * P01' = h(1 − P01) − ρP01; P11 = P01 + exp(−H − ρd). In v = (t/d)^k, and then v = s³, the integrand is smooth
 * enough at 0 for 16 points to give about 9 digits (v alone gives about 5 when k is not a whole number).
 */
export function resetProbabilities(
  eta: ArrayLike<number>,
  days: number,
  referenceDays: number,
  yearDays: number,
): ResetProbabilities {
  const out = new Float64Array(CHANCES);
  resetChances(eta[0]!, eta[1]!, eta[2]!, days, referenceDays, yearDays, out);
  return {
    p01: out[0]!,
    p11: out[4]!,
    gradient01: [out[1]!, out[2]!, out[3]!],
    gradient11: [out[5]!, out[6]!, out[7]!],
  };
}

/** P01 and its 3 derivatives, then P11 and its. */
export const CHANCES = 8;

/** The same written to `out`, of `CHANCES` places: they are asked for by the ten thousand. */
export function resetChances(
  logOnset: number,
  logClearing: number,
  logExponent: number,
  days: number,
  referenceDays: number,
  yearDays: number,
  out: Float64Array,
): void {
  // The exponent is mostly the one of a fit.
  if (logExponent !== latestTable.logExponent) latestTable = nodeTable(logExponent);
  const ku = Math.exp(logExponent) * Math.log(days / referenceDays);
  const h = Math.exp(logOnset + ku);
  const r = Math.exp(logClearing) * (days / yearDays);
  const values = nodesFor(latestTable, h, r);
  let [p, d1, d2, d3] = [0, 0, 0, 0];
  for (let i = 0; i < values.length; i += 5) {
    const ha = h * values[i + 1]!;
    const rb = r * values[i + 2]!;
    const f = values[i]! * h * Math.exp(-ha - rb);
    const g1 = 1 - ha;
    p += f;
    d1 += f * g1;
    d2 -= f * rb;
    d3 += f * (ku * g1 - r * values[i + 3]!);
  }
  const q = Math.exp(-h - r);
  out[0] = p;
  out[1] = d1;
  out[2] = d2;
  out[3] = d3;
  out[4] = p + q;
  out[5] = d1 - h * q;
  out[6] = d2 - r * q;
  out[7] = d3 - h * ku * q;
}

/** Positions in the work array: P01, its 3 first and 6 second derivatives, then the same of Q = exp(−H − R). */
const WORK = 20;

interface NodeTable {
  readonly logExponent: number;
  /** Weight, 1 − v, B = 1 − v^(1/k), dB/d(log k), d²B/d(log k)²: five numbers for each node. */
  readonly values: Float64Array;
}

function nodeTable(logExponent: number): NodeTable {
  const values = new Float64Array(5 * GAUSS_16.nodes.length);
  GAUSS_16.nodes.forEach((s, i) => {
    setNode(values, 5 * i, GAUSS_16.weights[i]! * 3 * s * s, 1 - s * s * s, 3 * Math.log(s), logExponent);
  });
  return { logExponent, values };
}

let latestTable = nodeTable(0);

/**
 * Nodes for an integrand that falls off steeply below v = 1, as exp(−y) in y = rate·(1 − v): panels in y that end at
 * 4, 14, 45 and `rate`, of 16 points each.
 */
function steepTable(logExponent: number, rate: number): NodeTable {
  const ends = [...[4, 14, 45].filter((end) => end < rate), rate];
  const values = new Float64Array(5 * GAUSS_16.nodes.length * ends.length);
  let at = 0;
  ends.forEach((end, panel) => {
    const from = panel === 0 ? 0 : ends[panel - 1]!;
    GAUSS_16.nodes.forEach((s, i) => {
      const gap = (from + (end - from) * s) / rate;
      setNode(values, at, (GAUSS_16.weights[i]! * (end - from)) / rate, gap, Math.log1p(-gap), logExponent);
      at += 5;
    });
  });
  return { logExponent, values };
}

function setNode(
  values: Float64Array,
  at: number,
  weight: number,
  gap: number,
  logV: number,
  logExponent: number,
): void {
  const c = Math.exp(-logExponent);
  const b1 = c * Math.exp(c * logV) * logV;
  values[at] = weight;
  values[at + 1] = gap;
  values[at + 2] = -Math.expm1(c * logV);
  values[at + 3] = b1;
  values[at + 4] = -b1 - b1 * c * logV;
}

const STEEP = 8;

/** The numbers of the nodes to take where the cumulative hazards over the interval are h and r. */
function nodesFor(table: NodeTable, h: number, r: number): Float64Array {
  const rate = h + r * Math.exp(-table.logExponent);
  return rate > STEEP && Number.isFinite(rate) ? steepTable(table.logExponent, rate).values : table.values;
}

/** Written to `out` from place `at` on; `ku` is k·log(days/reference): the part of log H that the exponent brings. */
function integrate(
  table: NodeTable,
  logOnset: number,
  logClearing: number,
  ku: number,
  years: number,
  out: Float64Array,
  at: number,
): void {
  const h = Math.exp(logOnset + ku);
  const r = Math.exp(logClearing) * years;
  const values = nodesFor(table, h, r);
  // Sums of their own: to add to places of an array takes twice as long.
  let [p, d1, d2, d3, d11, d12, d13, d22, d23, d33] = [0, 0, 0, 0, 0, 0, 0, 0, 0, 0];
  for (let i = 0; i < values.length; i += 5) {
    const ha = h * values[i + 1]!;
    const rb = r * values[i + 2]!;
    const rb3 = r * values[i + 3]!;
    const f = values[i]! * h * Math.exp(-ha - rb);
    const g1 = 1 - ha;
    const g3 = ku * g1 - rb3;
    p += f;
    d1 += f * g1;
    d2 -= f * rb;
    d3 += f * g3;
    d11 += f * (g1 * g1 - ha);
    d12 -= f * g1 * rb;
    d13 += f * (g1 * g3 - ha * ku);
    d22 += f * (rb * rb - rb);
    d23 += f * (-rb * g3 - rb3);
    d33 += f * (g3 * g3 + ku * g1 - ha * ku * ku - r * values[i + 4]!);
  }
  out[at] = p;
  out[at + 1] = d1;
  out[at + 2] = d2;
  out[at + 3] = d3;
  out[at + 4] = d11;
  out[at + 5] = d12;
  out[at + 6] = d13;
  out[at + 7] = d22;
  out[at + 8] = d23;
  out[at + 9] = d33;
  const q = Math.exp(-h - r);
  const hku = h * ku;
  out[at + 10] = q;
  out[at + 11] = -h * q;
  out[at + 12] = -r * q;
  out[at + 13] = -hku * q;
  out[at + 14] = q * (h * h - h);
  out[at + 15] = q * h * r;
  out[at + 16] = q * (h * hku - hku);
  out[at + 17] = q * (r * r - r);
  out[at + 18] = q * hku * r;
  out[at + 19] = q * (hku * hku - hku * ku - hku);
}

interface ResetKernelOptions {
  readonly referenceDays: number;
  readonly yearDays: number;
  /** Numbers from 0, the same for cells of the same days and covariates: they share their chances. Each its own where absent. */
  readonly alike?: Int32Array;
}

/** What is kept of cells that are alike: the predictors and the days of which it holds, and the work. */
const KEPT = 4 + WORK;

/** Of more numbers than this only the work of the latest is kept: cells that are alike mostly stand near each other. */
const MOST_NUMBERS = 1 << 19;
const LATEST = 1 << 16;

/**
 * Log-likelihood of one look in the predictors (log onset at the reference interval, log clearing per year,
 * log exponent), with first and second derivatives, differentiated under the integral.
 */
export function resetKernel(
  start: ArrayLike<number>,
  end: ArrayLike<number>,
  days: ArrayLike<number>,
  { referenceDays, yearDays, alike = Int32Array.from(days, (_, cell) => cell) }: ResetKernelOptions,
): CellKernel {
  let table = nodeTable(0);
  const most = alike.reduce((max, number) => Math.max(max, number), -1);
  const isMany = most >= MOST_NUMBERS;
  const mask = isMany ? LATEST - 1 : -1;
  const known = new Float64Array(KEPT * (isMany ? LATEST : most + 1)).fill(Number.NaN);
  return {
    predictors: 3,
    at(cell, eta, out) {
      const kept = KEPT * (alike[cell]! & mask);
      const work = kept + 4;
      const d = days[cell]!;
      if (
        eta[0] !== known[kept] ||
        eta[1] !== known[kept + 1] ||
        eta[2] !== known[kept + 2] ||
        d !== known[kept + 3]
      ) {
        if (eta[2] !== table.logExponent) table = nodeTable(eta[2]!);
        const ku = Math.exp(eta[2]!) * Math.log(d / referenceDays);
        integrate(table, eta[0]!, eta[1]!, ku, d / yearDays, known, work);
        for (let j = 0; j < 3; j += 1) known[kept + j] = eta[j]!;
        known[kept + 3] = d;
      }
      const from1 = start[cell] === 1;
      const sign = end[cell] === 1 ? 1 : -1;
      const in1 = known[work]! + (from1 ? known[work + 10]! : 0);
      const p = end[cell] === 1 ? in1 : 1 - in1;
      out[0] = Math.log(p);
      if (from1) {
        for (let j = 1; j < 10; j += 1) out[j] = (sign * (known[work + j]! + known[work + 10 + j]!)) / p;
      } else {
        for (let j = 1; j < 10; j += 1) out[j] = (sign * known[work + j]!) / p;
      }
      // Written out: there is no cell of which this is not asked.
      const d1 = out[1]!;
      const d2 = out[2]!;
      const d3 = out[3]!;
      out[4]! -= d1 * d1;
      out[5]! -= d1 * d2;
      out[6]! -= d1 * d3;
      out[7]! -= d2 * d2;
      out[8]! -= d2 * d3;
      out[9]! -= d3 * d3;
    },
  };
}
