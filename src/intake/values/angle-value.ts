import { type DecimalMark, parseNumber } from './number-value.ts';
import { type Fault, fault, isFault } from './parsed.ts';

/** Longer is no angle, and a pattern below takes long over a long run of spaces. */
const LONGEST_ANGLE = 100;

/** Angle in degrees: `52`, `52.5°`, `52 deg`. */
export function parseAngle(text: string, decimal: DecimalMark = 'point'): number | Fault {
  if (text.length > LONGEST_ANGLE) return fault('not an angle');
  const value = parseNumber(text.replace(/\s*(?:°|º|deg(?:rees?)?\.?)\s*$/i, ''), decimal);
  return isFault(value) ? fault('not an angle') : value;
}
