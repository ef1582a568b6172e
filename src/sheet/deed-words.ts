import { dayFromIso, longDate } from '../core/civil-day.ts';
import { columnTitle, formatNumber } from '../core/format-value.ts';
import { columnOf } from '../herd/dictionary.ts';
import { FEET, FOOT_LABELS, type Foot } from '../herd/vocabularies.ts';
import type { Deed, RowKey, StoredValue } from './amendment.ts';

/** `H001, 9 March 2026, left fore`: the row as it was first known. */
export function rowWords(row: RowKey): string {
  // A horse's name may itself hold the sign between the parts.
  const parts = row.split('|');
  const [iso = '', footPart = ''] = parts.slice(-2);
  const horse = parts.slice(0, -2).join('|');
  const day = dayFromIso(iso);
  const [code = ''] = footPart.split(' ');
  const foot = (FEET as readonly string[]).includes(code) ? FOOT_LABELS[code as Foot] : footPart;
  return [horse, day === null ? iso : longDate(day), foot].filter(Boolean).join(', ');
}

const UNITS: Readonly<Record<string, string>> = { mm: ' mm', deg: '°', kg: ' kg' };

/** A stored value as people read it: `82 mm`, `9 March 2026`, `yes`, `nothing`. */
export function valueWords(value: StoredValue, column: string): string {
  if (value === null || value === '') return 'nothing';
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  const { kind, unit } = columnOf(column);
  if (typeof value === 'number') {
    return kind === 'year' ? String(value) : `${formatNumber(value)}${unit ? UNITS[unit] : ''}`;
  }
  const day = kind === 'day' ? dayFromIso(value) : null;
  return day === null ? `“${value}”` : longDate(day);
}

/** What a deed did, in a sentence. What an undo took back is told by its own deeds. */
export function deedWords(deed: Deed): string {
  switch (deed.kind) {
    case 'change': {
      const label = columnTitle({ label: columnOf(deed.column).label });
      return `${rowWords(deed.row)}: ${label} from ${valueWords(deed.old, deed.column)} to ${valueWords(deed.value, deed.column)}.`;
    }
    case 'add':
      return deed.mends
        ? `${rowWords(deed.row)}: mended, from line ${deed.mends.line} of ${deed.mends.file}.`
        : `${rowWords(deed.row)}: added.`;
    case 'strike':
      return `${rowWords(deed.row)}: struck, counts no longer.`;
    case 'undo':
      return `${deed.of.length} ${deed.of.length === 1 ? 'change' : 'changes'} taken back.`;
  }
}
