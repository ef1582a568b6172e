import { type DecimalMark, parseNumber } from './number-value.ts';
import { type Fault, fault, isFault } from './parsed.ts';

/** Angle in degrees: `52`, `52.5°`, `52 deg`. */
export function parseAngle(text: string, decimal: DecimalMark = 'point'): number | Fault {
  const value = parseNumber(text.replace(/\s*(?:°|º|deg(?:rees?)?\.?)\s*$/i, ''), decimal);
  return isFault(value) ? fault('not an angle') : value;
}
