import { type ColumnName, columnOf } from '../herd/dictionary.ts';
import { numbersOf, type ReadColumn } from './read-column.ts';
import type { Source } from './source.ts';

/**
 * Rows that must be looked at cell by cell: those that are broken, have a faulty cell, lack a required one or break a
 * rule. All others are rows as they should be; a repeat of the header or a row of totals has no date, and is among the first.
 */
export function suspectRows(source: Source, columns: ReadonlyMap<ColumnName, ReadColumn>): Uint8Array {
  const suspect = new Uint8Array(source.rowCount);
  for (const row of source.broken.keys()) suspect[row] = 1;
  for (const [target, { values, faults, source: column }] of columns) {
    const required = columnOf(target).required;
    const bad = Uint8Array.from(values, (value, code) =>
      faults[code] !== null || (required && value === null) ? 1 : 0,
    );
    if (!bad.includes(1)) continue;
    const { codes } = column;
    for (let row = 0; row < codes.length; row++) if (bad[codes[row] as number] === 1) suspect[row] = 1;
  }
  const before = columns.get('toe_before_mm');
  const after = columns.get('toe_after_mm');
  if (before && after) {
    const beforeMm = numbersOf(before.values);
    const afterMm = numbersOf(after.values);
    const { codes: beforeCodes } = before.source;
    const { codes: afterCodes } = after.source;
    for (let row = 0; row < beforeCodes.length; row++) {
      const mm = afterMm[afterCodes[row] as number] as number;
      // Not every longer toe is a fault; the rule itself decides.
      if (mm > (beforeMm[beforeCodes[row] as number] as number)) suspect[row] = 1;
    }
  }
  return suspect;
}
