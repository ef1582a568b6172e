import { fromMm } from '../core/length.ts';
import { accepts } from '../herd/accepts.ts';
import type { ColumnDescription } from '../herd/column.ts';
import type { CellUnit } from './mapping.ts';
import { formatSixteenths } from './values/length-value.ts';

const KG_PER_LB = 0.45359237; // exact, international pound (1959)
/** Steps of a hundredth of an inch would be read as a promise; a binary hair is not. */
const HAIR = 1e-9;

/** What a column accepts, its limits also in the unit of the file: `30 to 180 mm (1 3/16 to 7 1/16 in)`. */
export function acceptedIn(described: ColumnDescription, unit: CellUnit | null): string {
  const { low, high } = described;
  const stored = accepts(described);
  if (low === null || high === null) return stored;
  // Rounded inwards, so that what is named is accepted.
  if (unit === 'cm' && described.unit === 'mm')
    return `${stored} (${inward(fromMm(low, 'cm'), 10, Math.ceil)} to ${inward(fromMm(high, 'cm'), 10, Math.floor)} cm)`;
  if (unit === 'in' && described.unit === 'mm') {
    const from = Math.ceil(fromMm(low, 'in') * 16 - HAIR);
    const to = Math.floor(fromMm(high, 'in') * 16 + HAIR);
    return `${stored} (${formatSixteenths(from)} to ${formatSixteenths(to)} in)`;
  }
  if (unit === 'lb' && described.unit === 'kg')
    return `${stored} (${Math.ceil(low / KG_PER_LB)} to ${Math.floor(high / KG_PER_LB)} lb)`;
  return stored;
}

function inward(value: number, steps: number, round: (x: number) => number): number {
  return round(value * steps + (round === Math.ceil ? -HAIR : HAIR)) / steps;
}
