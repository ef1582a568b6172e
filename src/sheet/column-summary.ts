export interface ColumnSummary {
  readonly column: string;
  readonly count: number;
  readonly missing: number;
  readonly distinct: number;
  /** Minimum, quartiles, maximum of numbers and days; null for others. */
  readonly quantiles: readonly [number, number, number, number, number] | null;
  readonly top: readonly { readonly value: string; readonly count: number }[];
  readonly histogram: {
    readonly from: number;
    readonly width: number;
    readonly counts: readonly number[];
  } | null;
}

/** What a summary is made from: the distinct values present, ascending, with how often each occurs. */
interface CountedNumbers {
  readonly values: Float64Array;
  readonly counts: Float64Array;
}

const MOST_TOP = 8;
const BARS = 24;

/** Quartiles of values that each occur so many times (definition 7 of Hyndman & Fan 1996, Am Stat 50:361–365). */
function countedQuantile({ values, counts }: CountedNumbers, share: number): number {
  const total = counts.reduce((sum, n) => sum + n, 0);
  const at = share * (total - 1);
  const valueAt = (index: number): number => {
    let before = 0;
    for (let k = 0; k < values.length; k += 1) {
      before += counts[k]!;
      if (index < before) return values[k]!;
    }
    return values.at(-1)!;
  };
  const low = valueAt(Math.floor(at));
  return low + (at - Math.floor(at)) * (valueAt(Math.ceil(at)) - low);
}

/** A width of 1, 2 or 5 times a power of ten that makes at most so many bars of a range. */
function barWidth(range: number, bars: number, whole: boolean): number {
  if (range <= 0) return 1;
  const power = 10 ** Math.floor(Math.log10(range / bars));
  const width = [1, 2, 5, 10].map((step) => step * power).find((step) => range / step <= bars) ?? power * 10;
  return whole ? Math.max(1, Math.round(width)) : width;
}

/** Summary of a column of numbers or days. `shown` writes a value for the list of the commonest. */
export function summariseNumbers(
  column: string,
  counted: CountedNumbers,
  missing: number,
  shown: (value: number) => string,
): ColumnSummary {
  const { values, counts } = counted;
  const count = counts.reduce((sum, n) => sum + n, 0);
  const common = { column, count, missing, distinct: values.length };
  if (count === 0) return { ...common, quantiles: null, top: [], histogram: null };
  const [low, high] = [values[0]!, values.at(-1)!];
  const width = barWidth(high - low, BARS - 1, values.every(Number.isInteger));
  const from = Math.floor(low / width) * width;
  const bars = new Array<number>(Math.floor((high - from) / width + 1e-9) + 1).fill(0);
  values.forEach((value, k) => {
    bars[Math.floor((value - from) / width + 1e-9)]! += counts[k]!;
  });
  const order = [...values.keys()].sort((a, b) => counts[b]! - counts[a]! || a - b);
  return {
    ...common,
    quantiles: [
      low,
      ...[0.25, 0.5, 0.75].map((share) => countedQuantile(counted, share)),
      high,
    ] as unknown as [number, number, number, number, number],
    top: order.slice(0, MOST_TOP).map((k) => ({ value: shown(values[k]!), count: counts[k]! })),
    histogram: { from, width, counts: bars },
  };
}
