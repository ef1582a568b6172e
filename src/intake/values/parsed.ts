/** What one cell says: a value, or why it is not one. `null` is a cell that says nothing. */
export type Value = number | string | boolean | null;
export interface Fault {
  readonly fault: string;
}
export type Parsed = Value | Fault;

export function fault(reason: string): Fault {
  return { fault: reason };
}

/** A cell may hold megabytes. */
const LONGEST_SHOWN = 60;

/** The reason with the cell it is about, as it stands there but for its spaces: `not a length: long`. */
export function faultOf({ fault: reason }: Fault, raw: number | string | boolean): Fault {
  const text = String(raw)
    .slice(0, 2 * LONGEST_SHOWN)
    .trim()
    .replace(/\s+/g, ' ');
  return fault(
    `${reason}: ${text.length > LONGEST_SHOWN ? `${text.slice(0, LONGEST_SHOWN).trimEnd()} …` : text}`,
  );
}

export function isFault(parsed: Parsed): parsed is Fault {
  return typeof parsed === 'object' && parsed !== null;
}

const NOTHING = new Set([
  '',
  'na',
  'n/a',
  'nan',
  'null',
  '-',
  '–',
  '—',
  '?',
  '.',
  'nd',
  'n.d.',
  'not recorded',
]);

/** Cells that people and programs write for 'nothing recorded'. */
export function saysNothing(text: string): boolean {
  return NOTHING.has(text.trim().toLowerCase());
}

/** In text columns only what programs write: a horse may be called Nd. */
export function isBlankText(text: string): boolean {
  const trimmed = text.trim();
  return trimmed === '' || trimmed === 'NA' || trimmed === 'N/A' || trimmed === 'NULL' || trimmed === 'null';
}
