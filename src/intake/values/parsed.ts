/** What one cell says: a value, or why it is not one. `null` is a cell that says nothing. */
export type Value = number | string | boolean | null;
export interface Fault {
  readonly fault: string;
}
export type Parsed = Value | Fault;

export function fault(reason: string): Fault {
  return { fault: reason };
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
