import type { Coded } from '../groups.ts';

/** Classes of the height at the trim, of about as many rows each. */
const CLASSES = 5;
/** Fewer rows than this a class, and there are fewer classes. */
const FEWEST_IN_CLASS = 8;

export interface HeightClasses extends Coded {
  /** mm: a class ends under its limit, and the last one nowhere. */
  readonly limits: readonly number[];
}

/**
 * The height at the trim, by classes; code −1 where it was not read. A high separation has more to lose before it is
 * gone, and one that was read too high falls at the next reading, so that higher ones, where they are relieved more
 * often, would make relief look better by its height, and worse by what has cleared.
 */
export function heightClasses(height: Float64Array, keep: readonly number[]): HeightClasses {
  const sorted = Float64Array.from(keep, (row) => height[row]!)
    .filter((value) => !Number.isNaN(value))
    .sort();
  const classes = Math.max(1, Math.min(CLASSES, Math.floor(sorted.length / FEWEST_IN_CLASS)));
  const cut = (k: number): number => sorted[Math.floor((k * sorted.length) / classes)]!;
  const limits = [...new Set(Array.from({ length: classes - 1 }, (_, k) => cut(k + 1)))].filter(
    (limit) => limit > sorted[0]!,
  );
  const codes = new Int32Array(height.length).fill(-1);
  for (const row of keep) {
    if (!Number.isNaN(height[row]!)) codes[row] = limits.filter((limit) => height[row]! >= limit).length;
  }
  const levels = Array.from(
    { length: limits.length + 1 },
    (_, k) => `height ${k + 1} of ${limits.length + 1}`,
  );
  return { levels, codes, limits };
}

/** SQL of the cycles of one class; of those without a height where it is −1. */
export function heightClassSql({ limits }: HeightClasses, code: number): string | null {
  if (code < 0) return 'separation_height_mm IS NULL';
  const parts = [
    ...(code > 0 ? [`separation_height_mm >= ${limits[code - 1]}`] : []),
    ...(code < limits.length ? [`separation_height_mm < ${limits[code]}`] : []),
  ];
  return parts.length > 0 ? parts.join(' AND ') : 'separation_height_mm IS NOT NULL';
}
