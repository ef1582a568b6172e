import { type CivilDay, isoFromDay } from '../core/civil-day.ts';
import { type ColumnName, columnOf, HORSE_COLUMNS } from '../herd/dictionary.ts';
import type { Foot } from '../herd/vocabularies.ts';
import { cellParser } from './cell-parser.ts';
import type { Codes } from './code-list.ts';
import type { MappedColumn, Mapping } from './mapping.ts';
import type { Source, SourceColumn } from './source.ts';
import { isFault, type Value } from './values/parsed.ts';

/** A value for each distinct cell of a column, and which cell each source row holds. */
export interface CodedValues {
  readonly values: readonly Value[];
  readonly codes: Codes;
}

/** A mapped column with every distinct cell read once. */
export interface ReadColumn {
  readonly mapped: MappedColumn;
  readonly source: SourceColumn;
  readonly values: readonly Value[];
  readonly faults: readonly (string | null)[];
  readonly faulty: boolean;
  readonly coded: CodedValues;
}

/** The columns of a file that the mapping uses. */
export function readColumns(source: Source, mapping: Mapping, today: CivilDay): ReadColumn[] {
  const horseTargets = new Set<string>(HORSE_COLUMNS.map((c) => c.name));
  return mapping.columns.flatMap((mapped, index): ReadColumn[] => {
    const column = source.columns[index];
    if (column === undefined) throw new Error(`mapping has a column the file has not: ${mapped.source}`);
    if (mapped.target === null || (mapping.kind === 'horses' && !horseTargets.has(mapped.target))) return [];
    const parse = cellParser(columnOf(mapped.target), {
      unit: mapped.unit,
      // Typed numbers are written out with a point.
      decimal: column.type === 'text' ? mapping.decimal : 'point',
      today,
      dateOrder: mapping.dateOrder === 'ask' ? 'iso' : mapping.dateOrder,
      plusSigns: column.distinct.some((raw) => typeof raw === 'string' && /^\s*\++\s*$/.test(raw)),
    });
    const day = column.type === 'day';
    const values: Value[] = [];
    const faults: (string | null)[] = [];
    for (const raw of column.distinct) {
      const parsed = parse(day && typeof raw === 'number' ? isoFromDay(raw) : raw);
      values.push(isFault(parsed) ? null : parsed);
      faults.push(isFault(parsed) ? parsed.fault : null);
    }
    const coded = { values, codes: column.codes };
    return [{ mapped, source: column, values, faults, faulty: faults.some((f) => f !== null), coded }];
  });
}

/** The columns that describe one foot: its own, and those of the whole row. */
export function byTarget(columns: readonly ReadColumn[], foot: Foot): Map<ColumnName, ReadColumn> {
  return new Map(
    // A foot's own column goes before one of the whole row.
    [...columns.filter((c) => c.mapped.foot === null), ...columns.filter((c) => c.mapped.foot === foot)].map(
      (c) => [c.mapped.target as ColumnName, c],
    ),
  );
}

export function valueAt(column: ReadColumn, row: number): Value {
  return column.values[column.source.codes[row] ?? -1] ?? null;
}

export function faultAt(column: ReadColumn, row: number): string | null {
  return column.faulty ? (column.faults[column.source.codes[row] ?? -1] ?? null) : null;
}

/** Numbers among the values, NaN for others. */
export function numbersOf(values: readonly Value[]): Float64Array {
  return Float64Array.from(values, (value) => (typeof value === 'number' ? value : Number.NaN));
}
