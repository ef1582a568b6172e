interface BoxMinimum {
  readonly x: Float64Array;
  readonly value: number;
  readonly evaluations: number;
}

interface BoxSearchOptions {
  /** Points a side of the first grid, both ends included. Default 7. */
  readonly gridPoints?: number;
  /** Stop where the simplex is smaller than this share of the box. Default 1e-9. */
  readonly tolerance?: number;
}

/**
 * Minimum of f over a box in one or two dimensions, corners and edges included: a grid that is denser near the
 * lower corner, then Nelder–Mead kept inside the box, begun again once where it stopped. Needs no derivative and
 * finds a minimum that lies on the border. For profiled variance ratios, where the border means "no variance".
 */
export function searchBox(
  f: (x: Float64Array) => number,
  lower: readonly number[],
  upper: readonly number[],
  options: BoxSearchOptions = {},
): BoxMinimum {
  const dimensions = lower.length;
  if (dimensions < 1 || dimensions > 2 || upper.length !== dimensions) {
    throw new Error(`box must have one or two dimensions: ${dimensions}`);
  }
  let evaluations = 0;
  const evaluate = (x: Float64Array): Vertex => {
    evaluations++;
    const value = f(x);
    return { x, value: Number.isNaN(value) ? Number.POSITIVE_INFINITY : value };
  };
  const width = lower.map((low, i) => upper[i]! - low);
  const sidePoints = options.gridPoints ?? 7;
  const side = Array.from({ length: sidePoints }, (_, i) => (i / (sidePoints - 1)) ** 2);
  const grid = side.flatMap((a) => (dimensions === 1 ? [[a]] : side.map((b) => [a, b])));
  let best = grid
    .map((shares) => evaluate(Float64Array.from(shares, (share, i) => lower[i]! + share * width[i]!)))
    .reduce((a, b) => (b.value < a.value ? b : a));
  for (const size of [0.08, 0.01, 0.001]) {
    best = nelderMead(evaluate, best, lower, upper, size, options.tolerance ?? 1e-9);
  }
  return { ...best, evaluations };
}

interface Vertex {
  readonly x: Float64Array;
  readonly value: number;
}

function nelderMead(
  evaluate: (x: Float64Array) => Vertex,
  start: Vertex,
  lower: readonly number[],
  upper: readonly number[],
  size: number,
  tolerance: number,
): Vertex {
  const n = lower.length;
  const inside = (x: Float64Array) => x.map((value, i) => Math.min(upper[i]!, Math.max(lower[i]!, value)));
  const width = lower.map((low, i) => upper[i]! - low);
  const simplex: Vertex[] = [start];
  for (let i = 0; i < n; i++) {
    const x = Float64Array.from(start.x);
    const step = size * width[i]!;
    x[i] = x[i]! + step <= upper[i]! ? x[i]! + step : x[i]! - step;
    simplex.push(evaluate(inside(x)));
  }
  for (let iteration = 0; iteration < 400; iteration++) {
    simplex.sort((a, b) => a.value - b.value);
    const best = simplex[0]!;
    const worst = simplex[n]!;
    const spread = Math.max(
      ...simplex.map((vertex) =>
        Math.max(...Array.from(vertex.x, (v, i) => Math.abs(v - best.x[i]!) / width[i]!)),
      ),
    );
    if (spread < tolerance) break;
    const centre = new Float64Array(n);
    for (const vertex of simplex.slice(0, n)) for (let i = 0; i < n; i++) centre[i]! += vertex.x[i]! / n;
    const along = (t: number) => evaluate(inside(centre.map((c, i) => c + t * (worst.x[i]! - c))));
    const reflected = along(-1);
    if (reflected.value < best.value) {
      const expanded = along(-2);
      simplex[n] = expanded.value < reflected.value ? expanded : reflected;
    } else if (reflected.value < simplex[n - 1]!.value) {
      simplex[n] = reflected;
    } else {
      const contracted = along(reflected.value < worst.value ? -0.5 : 0.5);
      if (contracted.value < Math.min(reflected.value, worst.value)) simplex[n] = contracted;
      else {
        for (let i = 1; i <= n; i++) {
          simplex[i] = evaluate(simplex[i]!.x.map((v, j) => best.x[j]! + 0.5 * (v - best.x[j]!)));
        }
      }
    }
  }
  return simplex.reduce((a, b) => (b.value < a.value ? b : a));
}
