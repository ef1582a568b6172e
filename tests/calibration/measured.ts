/** One figure of one simulated herd, beside its truth. */
export interface Measured {
  readonly quantity: string;
  /** What the figure should be; null where it is known only over all herds together. */
  readonly truth: number | null;
  /** Null where the analysis gave no number. */
  readonly found: Interval | null;
}

export interface Interval {
  readonly estimate: number;
  /** NaN where only an interval is given. */
  readonly stdError: number;
  readonly low: number;
  readonly high: number;
}
