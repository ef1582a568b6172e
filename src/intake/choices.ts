import { type ColumnName, columnOf } from '../herd/dictionary.ts';
import type { Foot } from '../herd/vocabularies.ts';
import { withDates } from './date-evidence.ts';
import { decideUnits } from './decide-units.ts';
import { headerFoot, whyMatched } from './header-match.ts';
import type { CellUnit, Choice, MappedColumn, Mapping } from './mapping.ts';
import type { DateOrder } from './values/date-value.ts';

/**
 * Reads a column as something else. Its unit is told by its header and values as for a fresh file, and is null
 * (to be chosen) where they leave it open; lengths that lean on the toe are judged again.
 */
export function retarget(mapping: Mapping, index: number, target: ColumnName | null): Mapping {
  const column = columnAt(mapping, index);
  const described = target === null ? null : columnOf(target);
  const ofFoot = described?.per === 'foot' && target !== 'foot' && mapping.kind === 'visits';
  const rowIsFoot = mapping.columns.some((c, i) => i !== index && c.target === 'foot');
  const foot = ofFoot ? (column.foot ?? (rowIsFoot ? null : headerFoot(column.source))) : null;
  const keptFoot = column.chosen?.includes('foot') && foot === column.foot;
  const changed: MappedColumn = {
    ...column,
    target,
    foot,
    unit: null,
    confidence: 'user',
    why: whyMatched({ target, foot, confidence: 'user', source: column.source }),
    unitWhy: '',
    warning: null,
    chosen: keptFoot ? ['target', 'foot'] : ['target'],
  };
  const read = { ...mapping, columns: decideUnits(mapping.columns.with(index, changed)) };
  return target === 'visit_date' || column.target === 'visit_date' ? withDates(read) : read;
}

export function chooseFoot(mapping: Mapping, index: number, foot: Foot | null): Mapping {
  const column = columnAt(mapping, index);
  const { source, target, confidence } = column;
  const why = `${whyMatched({ target, foot, confidence, source })}, as you chose`;
  return {
    ...mapping,
    columns: decideUnits(mapping.columns.with(index, { ...column, foot, why, chosen: also(column, 'foot') })),
  };
}

export function chooseUnit(mapping: Mapping, index: number, unit: CellUnit): Mapping {
  const column = columnAt(mapping, index);
  const changed: MappedColumn = {
    ...column,
    unit,
    unitWhy: 'unit as you chose',
    warning: null,
    chosen: also(column, 'unit'),
  };
  return { ...mapping, columns: decideUnits(mapping.columns.with(index, changed)) };
}

export function chooseDateOrder(mapping: Mapping, dateOrder: DateOrder): Mapping {
  return { ...mapping, dateOrder, dateWhy: 'as you chose', dateChosen: true };
}

function columnAt(mapping: Mapping, index: number): MappedColumn {
  const column = mapping.columns[index];
  if (!column) throw new Error(`mapping has no column at this place: ${index}`);
  return column;
}

function also({ chosen = [] }: MappedColumn, choice: Choice): Choice[] {
  return [...new Set([...chosen, choice])];
}
