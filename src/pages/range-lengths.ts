import { isMm, type ShownLength, shownUnit, shownValue } from '../analyses/lengths.ts';
import { formatNumber } from '../core/format-value.ts';
import { toMm } from '../core/length.ts';

interface RangeBody {
  readonly min: number;
  readonly max: number;
  readonly step: number;
  readonly unit?: string | undefined;
}

/** A range as it is dragged and read; its value stays in the page's own unit. */
interface RangeScale {
  readonly min: number;
  readonly max: number;
  readonly step: number;
  toShown(value: number): number;
  toValue(shown: number): number;
  words(value: number): string;
}

/** Steps that people read off a rule in decimal inches. */
const STEPS = [0.01, 0.02, 0.05, 0.1, 0.2, 0.25, 0.5, 1, 2, 5];
const round = (value: number, digits: number) => Number(value.toFixed(digits));

export function rangeInLengths(body: RangeBody, lengths: ShownLength): RangeScale {
  const { min, max, step, unit } = body;
  if (lengths === 'mm' || !isMm(unit)) {
    return {
      min,
      max,
      step,
      toShown: (value) => value,
      toValue: (shown) => shown,
      words: (value) => `${formatNumber(value)} ${unit ?? ''}`.trim(),
    };
  }
  const inches = (mm: number) => shownValue('in', mm, unit);
  const apart = (each: number) => Math.abs(Math.log(each / inches(step)));
  const stride = STEPS.reduce((best, each) => (apart(each) < apart(best) ? each : best));
  // The page's own ends hold: the first and the last step inside them.
  const least = round(Math.ceil(inches(min) / stride - 1e-9) * stride, 4);
  return {
    min: least,
    max: round(least + Math.floor((inches(max) - least) / stride + 1e-9) * stride, 4),
    step: stride,
    toShown: (value) => round(inches(value), 4),
    toValue: (shown) => round(toMm(shown, 'in'), 4),
    words: (value) => `${formatNumber(inches(value), 2)} ${shownUnit('in', unit ?? '')}`,
  };
}
