import { type LengthUnit, toMm } from '../core/length.ts';
import type { ColumnDescription } from '../herd/column.ts';
import { countsOf, type SourceColumn } from './source.ts';
import { isFraction, statedUnit } from './values/length-value.ts';
import { type DecimalMark, parseNumber } from './values/number-value.ts';
import { isFault, saysNothing } from './values/parsed.ts';

const UNITS: readonly LengthUnit[] = ['mm', 'cm', 'in'];
const NAMES: Record<LengthUnit, string> = { mm: 'millimetres', cm: 'centimetres', in: 'inches' };
/** A unit is possible where at least this share of the values lies within the column's limits. */
const FITTING_SHARE = 0.9;

export interface UnitReading {
  readonly unit: LengthUnit | null;
  readonly why: string;
  readonly warning: string | null;
}

interface Seen {
  /** Numbers whose cell states no unit, each with its rows. */
  readonly bare: readonly { readonly value: number; readonly rows: number }[];
  readonly fractions: number;
  readonly stating: number;
}

function look(columns: readonly SourceColumn[], decimal: DecimalMark): Seen {
  const bare: { value: number; rows: number }[] = [];
  let fractions = 0;
  let stating = 0;
  for (const column of columns) {
    const counts = countsOf(column);
    column.distinct.forEach((raw, code) => {
      const rows = counts[code] ?? 0;
      const text = String(raw ?? '');
      if (raw === null || saysNothing(text)) return;
      if (isFraction(text)) fractions += rows;
      else if (statedUnit(text)) stating += rows;
      else {
        const value = typeof raw === 'number' ? raw : parseNumber(text, decimal);
        if (!isFault(value)) bare.push({ value, rows });
      }
    });
  }
  return { bare, fractions, stating };
}

function median(bare: Seen['bare']): number {
  const sorted = [...bare].sort((a, b) => a.value - b.value);
  const half = sorted.reduce((sum, { rows }) => sum + rows, 0) / 2;
  let passed = 0;
  for (const { value, rows } of sorted) {
    passed += rows;
    if (passed >= half) return value;
  }
  return Number.NaN;
}

function possibleUnits(seen: Seen, described: ColumnDescription): LengthUnit[] {
  // Zeros fit every unit and say nothing.
  const telling = seen.bare.filter(({ value }) => value !== 0);
  const total = telling.reduce((sum, { rows }) => sum + rows, 0);
  return UNITS.filter((unit) => {
    const fitting = telling.reduce((sum, { value, rows }) => {
      const mm = toMm(value, unit);
      return sum + (mm >= (described.low ?? 0) && mm <= (described.high ?? Infinity) ? rows : 0);
    }, 0);
    return total === 0 || fitting >= total * FITTING_SHARE;
  });
}

/** Does a unit that the header names fit what is in the column? */
export function headerUnitReading(
  columns: readonly SourceColumn[],
  described: ColumnDescription,
  unit: LengthUnit,
  decimal: DecimalMark,
): UnitReading {
  const seen = look(columns, decimal);
  const possible = possibleUnits(seen, described);
  const why = ''; // said where the header was matched
  const bareRows = seen.bare.reduce((sum, { rows }) => sum + rows, 0);
  if (possible.includes(unit) || bareRows <= seen.fractions + seen.stating)
    return { unit, why, warning: null };
  const middle = median(seen.bare);
  const instead = possible.map((u) => NAMES[u]).join(' or ');
  const warning = `the header says ${NAMES[unit]}, but the values (half of them up to ${middle}) ${instead ? `look like ${instead}` : 'fit no unit'}`;
  return { unit, why, warning };
}

/**
 * The unit of a length whose header names none. For the toe the middle value tells: from 30 on it is mm, from 5 cm,
 * below inches (a toe of 70–110 mm is 7–11 cm and 2¾–4¼ in; common practice). Others follow the toe (`usual`)
 * where that fits their limits, else the one unit that does; undecided if several do.
 */
export function inferUnit(
  columns: readonly SourceColumn[],
  described: ColumnDescription,
  decimal: DecimalMark,
  usual: LengthUnit | null,
): UnitReading {
  const seen = look(columns, decimal);
  const bareRows = seen.bare.reduce((sum, { rows }) => sum + rows, 0);
  const said = (unit: LengthUnit | null, why: string): UnitReading => ({ unit, why, warning: null });
  if (seen.fractions > 0 && seen.fractions >= bareRows * 0.1) {
    return said('in', `${seen.fractions} values are fractions of an inch`);
  }
  if (bareRows === 0) {
    const why = seen.stating > 0 ? 'every value states its own unit' : 'no values';
    return said(usual ?? 'mm', why);
  }
  const middle = median(seen.bare);
  if (/^toe_(before|after)_mm$/.test(described.name)) {
    const unit = middle >= 30 ? 'mm' : middle >= 5 ? 'cm' : middle >= 2 ? 'in' : null;
    const verdict = unit ? `taken as ${NAMES[unit]}` : 'fits no unit';
    return said(unit, `the header names no unit; half the values are up to ${middle}: ${verdict}`);
  }
  const possible = possibleUnits(seen, described);
  if (usual && possible.includes(usual))
    return said(usual, `the header names no unit; ${NAMES[usual]} as the toe`);
  const [only] = possible;
  if (only && possible.length === 1) {
    return said(only, `the header names no unit; only ${NAMES[only]} fit values of about ${middle}`);
  }
  return said(null, `the header names no unit, and values of about ${middle} do not tell it`);
}
