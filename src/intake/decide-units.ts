import type { LengthUnit } from '../core/length.ts';
import { columnOf } from '../herd/dictionary.ts';
import { headerUnit } from './header-match.ts';
import { NOTHING_SEEN, pooled } from './lengths-seen.ts';
import type { MappedColumn } from './mapping.ts';
import { headerUnitReading, inferUnit, type UnitReading } from './unit-evidence.ts';

export function isLength({ target }: Pick<MappedColumn, 'target'>): boolean {
  return target !== null && columnOf(target).kind === 'length';
}

export function isLengthUnit(unit: string | null): unit is LengthUnit {
  return unit === 'mm' || unit === 'cm' || unit === 'in';
}

/** The unit of the file's toe lengths, which the other lengths lean on; null without one. */
export function usualUnit(columns: readonly Pick<MappedColumn, 'target' | 'unit'>[]): LengthUnit | null {
  for (const { target, unit } of columns) {
    if (/^toe_(before|after)_mm$/.test(target ?? '') && isLengthUnit(unit)) return unit;
  }
  return null;
}

/**
 * Gives every column the unit that header and values tell; null for a length that neither decides. What the user
 * chose stands, and so does what came without evidence (a mapping kept from before there was any).
 */
export function decideUnits(columns: readonly MappedColumn[]): MappedColumn[] {
  const decided = [...columns];
  // The toes first: the other lengths lean on them.
  for (const toes of [true, false]) {
    columns.forEach((column, index) => {
      if (isLength(column) && column.target?.startsWith('toe_') === toes)
        decided[index] = decideOne(decided, index);
    });
  }
  return decided.map((column) => (isLength(column) ? column : withoutLength(column)));
}

function decideOne(columns: readonly MappedColumn[], index: number): MappedColumn {
  const column = columns[index] as MappedColumn;
  if (column.chosen?.includes('unit')) return column;
  if (column.seen === undefined) return column.unit === null ? { ...column, unitWhy: '' } : column;
  const { unit, why, warning } = readUnit(columns, index);
  return { ...column, unit, unitWhy: why, warning };
}

/** What speaks for a unit of a length column, its other feet judged with it. */
export function readUnit(columns: readonly MappedColumn[], index: number): UnitReading {
  const { source, target } = columns[index] as MappedColumn;
  if (target === null) throw new Error(`column must be read as a length to have a unit: ${source}`);
  const described = columnOf(target);
  const named = headerUnit(source, described);
  const alike = columns.filter((c) => c.target === target && headerUnit(c.source, described) === named);
  const all = pooled(alike.map((c) => c.seen ?? NOTHING_SEEN));
  return isLengthUnit(named)
    ? headerUnitReading(all, described, named)
    : inferUnit(all, described, usualUnit(columns));
}

/** Angles have one unit; a mass is in kg unless its header or the user says pounds. */
function withoutLength(column: MappedColumn): MappedColumn {
  if (column.chosen?.includes('unit')) return column;
  const described = column.target === null ? null : columnOf(column.target);
  const named = described && headerUnit(column.source, described);
  const unit = described?.unit == null ? null : (named ?? described.unit);
  const mass = described?.kind === 'mass' && !named;
  return { ...column, unit, unitWhy: mass ? 'taken as kg: the header names no unit' : '', warning: null };
}
