import type { LengthUnit } from '../core/length.ts';
import { withDates } from './date-evidence.ts';
import { decideUnits, isLength, isLengthUnit, readUnit, usualUnit } from './decide-units.ts';
import { whyMatched } from './header-match.ts';
import type { Choice, MappedColumn, Mapping, RememberedMapping } from './mapping.ts';
import { proposeMapping } from './propose.ts';
import type { Source } from './source.ts';
import { LENGTH_NAMES } from './unit-evidence.ts';

const BEFORE = 'as you chose for a file with these headers';

/** The proposal with what the user chose for an earlier file with these headers; `remembered` if that changes anything. */
export function recallMapping(
  source: Source,
  proposed: Mapping,
  kept: readonly RememberedMapping[],
): { readonly mapping: Mapping; readonly remembered: boolean } {
  const one = kept.find((r) => r.signature === proposed.signature);
  if (!one) return { mapping: proposed, remembered: false };
  const base = one.kind === proposed.kind ? proposed : proposeMapping(source, one.kind);
  const mapping = applyRemembered(base, one);
  const changed =
    base !== proposed ||
    mapping.dateOrder !== base.dateOrder ||
    mapping.columns.some(({ chosen = [] }) => chosen.length > 0);
  return { mapping, remembered: changed };
}

/**
 * Remembered targets and feet over a fresh proposal; the proposal where headers or kind differ. Evidence goes first
 * for units and dates: what is remembered of them decides only what this file leaves open, and a unit that the
 * values contradict is dropped with a warning.
 */
export function applyRemembered(mapping: Mapping, remembered: RememberedMapping): Mapping {
  if (remembered.signature !== mapping.signature || remembered.kind !== mapping.kind) return mapping;
  const bySource = new Map(remembered.columns.map((c) => [c.source.toLowerCase(), c]));
  const keptOf = ({ source }: MappedColumn): Kept | undefined => bySource.get(source.toLowerCase());
  const aimed = decideUnits(withoutRivals(mapping.columns.map((column) => aim(column, keptOf(column)))));
  const usualThen = usualUnit(remembered.columns);
  const usualNow = usualUnit(aimed);
  const sameToe = usualThen === null || usualNow === null || usualThen === usualNow;
  const columns = aimed.map((column, index): MappedColumn => {
    const kept = keptOf(column);
    if (!kept || kept.target !== column.target) return column;
    if (isLength(column) && isLengthUnit(kept.unit))
      return recallUnit(column, kept.unit, kept, readUnit(aimed, index).possible, sameToe);
    return kept.chosen?.includes('unit')
      ? { ...column, unit: kept.unit, unitWhy: `unit ${BEFORE}`, chosen: chosenOf(column, 'unit') }
      : column;
  });
  const dateColumn = (list: readonly MappedColumn[]): number =>
    list.findIndex((c) => c.target === 'visit_date');
  const read = { ...mapping, columns };
  const dated = dateColumn(columns) === dateColumn(mapping.columns) ? read : withDates(read);
  const order = dated.dateOrder === 'ask' ? usableOrder(remembered) : null;
  if (order === null) return dated;
  const dateWhy = remembered.dateChosen === false ? 'as in an earlier file with these headers' : BEFORE;
  return { ...dated, dateOrder: order, dateWhy, dateChosen: remembered.dateChosen ?? true };
}

type Kept = RememberedMapping['columns'][number];

function usableOrder({ dateOrder }: RememberedMapping): 'day-first' | 'month-first' | null {
  return dateOrder === 'day-first' || dateOrder === 'month-first' ? dateOrder : null;
}

/** Target and foot as the user chose them; of an older record, which does not say, as far as they differ. */
function aim(column: MappedColumn, kept: Kept | undefined): MappedColumn {
  if (!kept) return column;
  const { source } = column;
  const chose = (choice: 'target' | 'foot'): boolean =>
    kept.chosen?.includes(choice) ?? kept[choice] !== column[choice];
  const target = chose('target') ? kept.target : column.target;
  // A target that was chosen brought its foot along.
  const foot = chose('target') || (chose('foot') && kept.target === target) ? kept.foot : column.foot;
  const chosen: Choice[] = [];
  if (chose('target')) chosen.push('target');
  if (chose('foot') && foot === kept.foot) chosen.push('foot');
  if (chosen.length === 0) return column;
  const confidence = chose('target') ? 'user' : column.confidence;
  const how = whyMatched({ source, target, foot, confidence });
  const why = chose('target') ? how.replace('as you chose', BEFORE) : `${how}, ${BEFORE}`;
  return { ...column, target, foot, unit: null, warning: null, confidence, why, chosen };
}

/** Where the user chose another column for a target, the one proposed gives way. */
function withoutRivals(columns: readonly MappedColumn[]): MappedColumn[] {
  const keyOf = ({ target, foot }: MappedColumn): string => `${target} ${foot ?? ''}`;
  const isChosen = ({ target, chosen = [] }: MappedColumn): boolean =>
    target !== null && chosen.includes('target');
  const taken = new Map(columns.filter(isChosen).map((c) => [keyOf(c), c.source]));
  return columns.map((column) => {
    const rival = isChosen(column) ? undefined : taken.get(keyOf(column));
    if (rival === undefined || column.target === null) return column;
    const why = `“${rival}” already gives it`;
    return { ...column, target: null, foot: null, unit: null, confidence: 'none', why };
  });
}

function recallUnit(
  column: MappedColumn,
  unit: LengthUnit,
  kept: Kept,
  possible: readonly LengthUnit[],
  sameToe: boolean,
): MappedColumn {
  const chose = kept.chosen?.includes('unit') ?? false;
  const fits = possible.includes(unit) && sameToe;
  if (chose && (fits || column.unit === unit))
    return { ...column, unit, unitWhy: `unit ${BEFORE}`, warning: null, chosen: chosenOf(column, 'unit') };
  if (column.unit === unit) return column;
  if (column.unit === null && possible.includes(unit))
    return { ...column, unit, unitWhy: 'unit as in an earlier file with these headers' };
  const then = chose ? 'you chose' : 'an earlier file with these headers was read in';
  const now = isLengthUnit(column.unit)
    ? `these values look like ${LENGTH_NAMES[column.unit]}`
    : 'that does not fit these values';
  const warning = `${then} ${LENGTH_NAMES[unit]}${chose ? ' for a file with these headers' : ''}, but ${now}`;
  return { ...column, warning: column.warning ? `${column.warning}; ${warning}` : warning };
}

function chosenOf({ chosen = [] }: MappedColumn, choice: Choice): Choice[] {
  return [...new Set([...chosen, choice])];
}
