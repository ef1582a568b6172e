import { type CivilDay, isoFromDay } from '../core/civil-day.ts';
import { type ColumnName, columnOf, FOOT_VISIT, isColumnName } from '../herd/dictionary.ts';
import { cellParser } from '../intake/cell-parser.ts';
import { longerAfterTrim } from '../intake/row-rules.ts';
import { isFault, type Parsed } from '../intake/values/parsed.ts';
import type { RowKey, StoredValue } from '../sheet/amendment.ts';
import type { RowValues } from '../sheet/effect.ts';
import { identityOf, newRowKey } from '../sheet/row-key.ts';
import { acceptsTyped, shownValue } from './sheet-columns.ts';
import type { Judged, JudgedRow, TypedCell, TypedRow } from './sheet-service.ts';

const IDENTITY: readonly string[] = ['horse_id', 'visit_date', 'foot'];
export const ONE_ROW = 'one row for a foot on a day';
const TOE: readonly string[] = ['toe_before_mm', 'toe_after_mm'];

/** What is known of the herd where cells are judged. */
interface Known {
  /** Rows as they are now. */
  readonly rows: ReadonlyMap<RowKey, RowValues>;
  /** Values that a row takes from the horses’ file or the breed table where its own cell is blank. */
  readonly fallback: ReadonlyMap<RowKey, RowValues>;
  /** Which row holds a foot of a horse on a day, for every identity that is asked for. */
  readonly held: ReadonlyMap<string, RowKey>;
}

/** One typed cell as the column stores it, days as ISO text; null for a blank. */
export function readTyped(column: ColumnName, text: string, today: CivilDay): Parsed {
  const described = columnOf(column);
  const parsed = cellParser(described, { dateOrder: 'iso', decimal: 'point', today })(text);
  if (isFault(parsed)) return parsed;
  if (parsed === null && described.required) return { fault: `${described.label.toLowerCase()} is missing` };
  return described.kind === 'day' && typeof parsed === 'number' ? isoFromDay(parsed) : parsed;
}

/** Each cell by itself, against its column. */
export function readCells(
  cells: readonly TypedCell[],
  { rows, fallback }: Pick<Known, 'rows' | 'fallback'>,
  today: CivilDay,
): Judged[] {
  return cells.map(({ row, column, text }): Judged => {
    if (!isColumnName(column)) {
      return {
        ok: false,
        reason: 'this column is worked out from others',
        accepted: 'a column of the record',
      };
    }
    const values = rows.get(row);
    if (!values) return { ok: false, reason: 'this row is no longer there', accepted: 'a row of the record' };
    const accepted = acceptsTyped(columnOf(column));
    const value = readTyped(column, text, today);
    if (isFault(value)) return { ok: false, reason: value.fault, accepted };
    const given = fallback.get(row)?.[column] ?? null;
    if (value === null && given !== null) {
      const reason = `the horses’ file or the breed table gives ${given} here, so a blank would not show`;
      return { ok: false, reason, accepted };
    }
    return {
      ok: true,
      old: values[column] ?? null,
      value,
      shown: shownValue(value, columnOf(column)),
    };
  });
}

/** The rows as the good cells would leave them. */
export function proposedRows(
  cells: readonly TypedCell[],
  judged: readonly Judged[],
  rows: Known['rows'],
): Map<RowKey, RowValues> {
  const proposed = new Map<RowKey, RowValues>();
  cells.forEach(({ row, column }, k) => {
    const one = judged[k]!;
    if (one.ok) proposed.set(row, { ...(proposed.get(row) ?? rows.get(row)), [column]: one.value });
  });
  return proposed;
}

/** Each cell as part of its row and of the record: the toe not longer after the trim, a foot once a day. */
export function settleCells(
  cells: readonly TypedCell[],
  read: readonly Judged[],
  { rows, held }: Known,
): Judged[] {
  const judged = [...read];
  const refuse = (row: RowKey, columns: readonly string[], reason: string, accepted: string): boolean => {
    let any = false;
    cells.forEach((cell, k) => {
      if (cell.row !== row || !columns.includes(cell.column) || !judged[k]!.ok) return;
      judged[k] = { ok: false, reason, accepted };
      any = true;
    });
    return any;
  };
  // A refusal gives a row its old values back, which may stand in another's way: judged until nothing more changes.
  for (let again = true; again; ) {
    again = false;
    const proposed = proposedRows(cells, judged, rows);
    const taken = new Map<string, RowKey>();
    for (const [row, values] of proposed) {
      if (!isMoved(values, rows.get(row))) taken.set(identityOf(values), row);
    }
    for (const [row, values] of proposed) {
      const longer = longerAfterTrim(values.toe_before_mm ?? null, values.toe_after_mm ?? null);
      if (longer) {
        again =
          refuse(row, ['toe_after_mm'], longer.reason, longer.accepted) ||
          refuse(row, TOE, longer.reason, longer.accepted) ||
          again;
      }
      if (!isMoved(values, rows.get(row))) continue;
      const identity = identityOf(values);
      const holder = taken.get(identity) ?? stillHeld(identity, held, proposed);
      if (holder !== undefined && holder !== row) {
        again = refuse(row, IDENTITY, heldReason(values), ONE_ROW) || again;
      } else taken.set(identity, row);
    }
  }
  return judged;
}

/** The row that holds an identity in the record and is not about to be moved away from it. */
function stillHeld(
  identity: string,
  held: Known['held'],
  proposed: ReadonlyMap<RowKey, RowValues>,
): RowKey | undefined {
  const holder = held.get(identity);
  if (holder === undefined) return undefined;
  const moved = proposed.get(holder);
  return moved && identityOf(moved) !== identity ? undefined : holder;
}

function isMoved(values: RowValues, before: RowValues | undefined): boolean {
  return before === undefined || identityOf(values) !== identityOf(before);
}

function heldReason({ foot, visit_date }: RowValues): string {
  return `there is a row for this horse’s ${foot} on ${visit_date} already`;
}

/** What is known of the herd where new rows are judged. */
interface KnownForRows {
  readonly held: Known['held'];
  /** What is recorded of a horse, by `horse_id`: taken over where a new row leaves it blank. */
  readonly horses: ReadonlyMap<string, RowValues>;
  isTaken(key: RowKey): boolean;
}

type RowFaults = Extract<JudgedRow, { ok: false }>['faults'][number];

/** A new row by itself: its values, and what is wrong with it. */
export function readRow({ cells }: TypedRow, today: CivilDay): { values: RowValues; faults: RowFaults[] } {
  const values: Partial<Record<ColumnName, StoredValue>> = {};
  const faults: RowFaults[] = [];
  for (const [column, text] of Object.entries(cells)) {
    if (!isColumnName(column)) {
      faults.push({ column, reason: 'the record has no such column', accepted: 'a column of the record' });
      continue;
    }
    const value = readTyped(column, text, today);
    if (isFault(value)) {
      faults.push({ column, reason: value.fault, accepted: acceptsTyped(columnOf(column)) });
    } else if (value !== null) values[column] = value;
  }
  for (const described of FOOT_VISIT) {
    if (!described.required || described.name in cells) continue;
    const reason = `${described.label.toLowerCase()} is missing`;
    faults.push({ column: described.name, reason, accepted: acceptsTyped(described) });
  }
  const longer = longerAfterTrim(values.toe_before_mm ?? null, values.toe_after_mm ?? null);
  if (longer) faults.push({ column: 'toe_after_mm', ...longer });
  return { values, faults };
}

/** New rows against the record and one another. */
export function settleRows(
  rows: readonly { readonly values: RowValues; readonly faults: readonly RowFaults[] }[],
  { held, horses, isTaken }: KnownForRows,
): JudgedRow[] {
  const identities = new Set<string>();
  const keys = new Set<RowKey>();
  return rows.map(({ values, faults }): JudgedRow => {
    if (faults.length > 0) return { ok: false, faults };
    const identity = identityOf(values);
    if (held.has(identity) || identities.has(identity)) {
      return { ok: false, faults: [{ column: 'visit_date', reason: heldReason(values), accepted: ONE_ROW }] };
    }
    identities.add(identity);
    const row = newRowKey(identity, (key) => isTaken(key) || keys.has(key));
    keys.add(row);
    return { ok: true, row, values: { ...horses.get(String(values.horse_id)), ...values } };
  });
}
