import { type LengthUnit, toMm } from '../core/length.ts';
import type { ColumnDescription } from '../herd/column.ts';
import { bareRows, type LengthsSeen, middleOf } from './lengths-seen.ts';

const UNITS: readonly LengthUnit[] = ['mm', 'cm', 'in'];
export const LENGTH_NAMES: Record<LengthUnit, string> = {
  mm: 'millimetres',
  cm: 'centimetres',
  in: 'inches',
};
/** A unit is possible where at least this share of the values lies within the column's limits. */
const FITTING_SHARE = 0.9;
/** From this share of the rows on, fractions tell that the other numbers are inches too. */
const FRACTION_SHARE = 0.1;

export interface UnitReading {
  /** Null: not decided, and asked about. */
  readonly unit: LengthUnit | null;
  readonly why: string;
  readonly warning: string | null;
  /** The units that the values themselves allow, whatever header and other columns say. */
  readonly possible: readonly LengthUnit[];
}

const isToe = ({ name }: ColumnDescription): boolean => /^toe_(before|after)_mm$/.test(name);

function fittingUnits(seen: LengthsSeen, described: ColumnDescription): LengthUnit[] {
  // Zeros fit every unit and say nothing.
  const telling = seen.bare.filter(([value]) => value !== 0);
  const total = telling.reduce((sum, [, rows]) => sum + rows, 0);
  return UNITS.filter((unit) => {
    const fitting = telling.reduce((sum, [value, rows]) => {
      const mm = toMm(value, unit);
      return sum + (mm >= (described.low ?? 0) && mm <= (described.high ?? Infinity) ? rows : 0);
    }, 0);
    return total === 0 || fitting >= total * FITTING_SHARE;
  });
}

/**
 * What the values alone allow. For the toe the middle value tells: from 30 on it is mm, from 5 cm, below inches
 * (a toe of 70–110 mm is 7–11 cm and 2¾–4¼ in; common practice).
 */
function possibleUnits(seen: LengthsSeen, described: ColumnDescription): LengthUnit[] {
  const bare = bareRows(seen);
  if (seen.fractions > 0 && seen.fractions >= bare * FRACTION_SHARE) return ['in'];
  if (bare === 0) return [...UNITS];
  if (!isToe(described)) return fittingUnits(seen, described);
  const middle = middleOf(seen);
  return middle >= 30 ? ['mm'] : middle >= 5 ? ['cm'] : middle >= 2 ? ['in'] : [];
}

/** Does a unit that the header names fit what is in the column? */
export function headerUnitReading(
  seen: LengthsSeen,
  described: ColumnDescription,
  unit: LengthUnit,
): UnitReading {
  const fitting = fittingUnits(seen, described);
  const possible = possibleUnits(seen, described);
  const why = `${LENGTH_NAMES[unit]} in the header`;
  // Where no unit fits nearly all, and most are of the size that the header says, the rest are rows to mend.
  const isMostly = fitting.length === 0 && possible.includes(unit);
  if (fitting.includes(unit) || isMostly || bareRows(seen) <= seen.fractions + seen.stating)
    return { unit, why, warning: null, possible: [...new Set([unit, ...possible])] };
  const instead = fitting.map((u) => LENGTH_NAMES[u]).join(' or ');
  const warning = `the header says ${LENGTH_NAMES[unit]}, but the values (half of them up to ${middleOf(seen)}) ${instead ? `look like ${instead}` : 'fit no unit'}`;
  return { unit, why, warning, possible };
}

/**
 * The unit of a length whose header names none, from its values. Where they allow several it follows the toe
 * (`usual`) if that is among them; undecided otherwise.
 */
export function inferUnit(
  seen: LengthsSeen,
  described: ColumnDescription,
  usual: LengthUnit | null,
): UnitReading {
  const possible = possibleUnits(seen, described);
  const said = (unit: LengthUnit | null, why: string): UnitReading => ({
    unit,
    why,
    warning: null,
    possible,
  });
  if (possible[0] === 'in' && possible.length === 1 && seen.fractions > 0)
    return said('in', 'fractions of an inch');
  if (bareRows(seen) === 0) {
    // Each cell carries its own unit, or there is none to carry: the choice changes nothing.
    return said(usual ?? 'mm', seen.stating > 0 ? 'each value says its own unit' : 'no values');
  }
  const middle = middleOf(seen);
  const [only] = possible;
  if (isToe(described)) {
    const about = `half the values are up to ${middle}`;
    return only
      ? said(only, `${LENGTH_NAMES[only]} by their size: ${about}`)
      : said(null, `${about}: no unit fits`);
  }
  if (usual && possible.includes(usual)) return said(usual, `${LENGTH_NAMES[usual]}, as the toe`);
  if (only && possible.length === 1)
    return said(only, `only ${LENGTH_NAMES[only]} fit values of about ${middle}`);
  return said(null, `values of about ${middle} do not tell the unit`);
}
