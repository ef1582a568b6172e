import { type DecimalMark, parseNumber, tidy } from './number-value.ts';
import { type Fault, fault, isFault } from './parsed.ts';

type MassUnit = 'kg' | 'lb';
const KG_PER_LB = 0.45359237; // exact, international pound (1959)

/** Longer is no mass, and the pattern below takes long over a long run of spaces. */
const LONGEST_MASS = 100;

/** Mass in kg: `520`, `520 kg`, `1,150 lb`. A unit in the cell goes before the column's. */
export function parseMass(text: string, unit: MassUnit, decimal: DecimalMark = 'point'): number | Fault {
  if (text.length > LONGEST_MASS) return fault('not a mass');
  const match = /^(.*?)\s*(kg|kgs|kilos?|lbs?|pounds?)?\.?$/i.exec(text.trim());
  const words = match?.[2]?.toLowerCase();
  const own: MassUnit = words === undefined ? unit : words.startsWith('k') ? 'kg' : 'lb';
  const value = parseNumber(match?.[1] ?? '', decimal);
  if (isFault(value)) return fault('not a mass');
  return own === 'kg' ? value : tidy(value * KG_PER_LB);
}
