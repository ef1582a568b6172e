import { isoFromDay } from '../core/civil-day.ts';
import { formatNumber } from '../core/format-value.ts';
import { accepts } from '../herd/accepts.ts';
import type { ColumnDescription } from '../herd/column.ts';
import { FOOT_VISIT_SHOWN } from '../herd/cycle-columns.ts';
import { type ColumnName, columnOf, isColumnName } from '../herd/dictionary.ts';
import type { StoredValue } from '../sheet/amendment.ts';
import type { DerivedColumn } from '../sheet/derived-column.ts';
import type { SheetColumn } from './sheet-service.ts';

/** What a cell accepts, with the ways to write it that a file's header would otherwise settle. */
export function acceptsTyped(described: ColumnDescription): string {
  switch (described.kind) {
    case 'length':
      return `${accepts(described)}; also cm or inches, such as 8.3 cm or 3 1/4 in`;
    case 'mass':
      return `${accepts(described)}; also pounds, such as 1150 lb`;
    default:
      return accepts(described);
  }
}

/** The columns of the record in the order of the sheet: whose, when and which foot first. */
export const RECORD_COLUMNS: readonly SheetColumn[] = FOOT_VISIT_SHOWN.filter(({ name }) =>
  isColumnName(name),
).map(({ name, label, unit, digits, ungrouped }) => {
  const described = columnOf(name);
  const isNumber = ['length', 'angle', 'mass', 'grade', 'year'].includes(described.kind);
  return {
    name,
    label,
    kind: described.kind,
    ...(unit ? { unit } : {}),
    ...(ungrouped ? { ungrouped } : {}),
    ...(isNumber && digits !== undefined ? { digits } : {}),
    levels: described.levels,
    editable: true,
    required: described.required,
    accepts: acceptsTyped(described),
  };
});

export const RECORD_NAMES = RECORD_COLUMNS.map(({ name }) => name) as ColumnName[];

/** A derived column as the sheet shows it. */
export function derivedSheetColumn({ name, label, unit, digits }: DerivedColumn): SheetColumn {
  return {
    name,
    label: label || name,
    kind: 'derived',
    ...(unit ? { unit } : {}),
    ...(digits === undefined ? {} : { digits }),
    levels: null,
    editable: false,
    required: false,
    accepts: 'worked out from other columns',
  };
}

/** A stored value as people read it; empty where nothing is recorded. */
export function shownValue(value: StoredValue, { kind }: Pick<ColumnDescription, 'kind'>): string {
  if (value === null) return '';
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  if (typeof value === 'string') return value;
  if (kind === 'day') return isoFromDay(value);
  if (kind === 'year') return String(value);
  return formatNumber(value, kind === 'length' || kind === 'angle' ? 1 : undefined);
}
