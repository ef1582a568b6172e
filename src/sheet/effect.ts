import type { ColumnName } from '../herd/dictionary.ts';
import type { Amendment, Deed, RowKey, StoredValue } from './amendment.ts';
import type { Conflict } from './conflict.ts';
import { countingIds } from './history.ts';

export type RowValues = Readonly<Partial<Record<ColumnName, StoredValue>>>;

/** What a log makes of one row. */
export interface RowEffect {
  /** Whether the row counts at all. */
  readonly there: boolean;
  /** Null for a row of the source; of an added row the deed that added it. */
  readonly added: Extract<Deed, { kind: 'add' }> | null;
  /** Values over those of the source; every value of an added row. */
  readonly values: RowValues;
}

interface Effect {
  readonly rows: ReadonlyMap<RowKey, RowEffect>;
  readonly conflicts: readonly Conflict[];
}

type Change = Extract<Deed, { kind: 'change' }>;
type OfChange = Amendment & { readonly deed: Change };

/**
 * What a log of amendments makes of the rows that it names. `source` gives a row as the source has it, null where it has
 * none. An amendment that does not fit the source is a conflict and changes nothing; one that the source already agrees
 * with is none. A change fits where the source still has the value that it, or the chain of changes it stands on, began
 * from.
 */
export function effectOf(log: readonly Amendment[], source: (row: RowKey) => RowValues | null): Effect {
  const counting = countingIds(log);
  const rows = new Map<RowKey, RowEffect>();
  const conflicts: Conflict[] = [];
  for (const [row, amendments] of byRow(log)) {
    rows.set(row, rowEffect(amendments, counting, source(row), conflicts));
  }
  return { rows, conflicts };
}

/** Rows that the amendments name, those that an undo reaches through the log included. */
export function rowsTouched(fresh: readonly Amendment[], log: readonly Amendment[]): Set<RowKey> {
  const byId = new Map(log.map((amendment) => [amendment.id, amendment]));
  const rows = new Set<RowKey>();
  const seen = new Set<string>();
  const visit = ({ id, deed }: Amendment): void => {
    if (seen.has(id)) return;
    seen.add(id);
    if (deed.kind !== 'undo') rows.add(deed.row);
    else for (const other of deed.of) if (byId.has(other)) visit(byId.get(other)!);
  };
  for (const amendment of fresh) visit(amendment);
  return rows;
}

/** The amendments that say anything about these rows, undoing ones all included. */
export function aboutRows(log: readonly Amendment[], rows: ReadonlySet<RowKey>): Amendment[] {
  return log.filter(({ deed }) => deed.kind === 'undo' || rows.has(deed.row));
}

function sameValue(a: StoredValue | undefined, b: StoredValue | undefined): boolean {
  const [left, right] = [a ?? null, b ?? null];
  if (typeof left === 'number' && typeof right === 'number') return Math.abs(left - right) < 1e-6;
  return left === right;
}

function byRow(log: readonly Amendment[]): Map<RowKey, Amendment[]> {
  const rows = new Map<RowKey, Amendment[]>();
  for (const amendment of log) {
    if (amendment.deed.kind === 'undo') continue;
    const { row } = amendment.deed;
    const held = rows.get(row);
    if (held) held.push(amendment);
    else rows.set(row, [amendment]);
  }
  return rows;
}

function rowEffect(
  amendments: readonly Amendment[],
  counting: ReadonlySet<string>,
  source: RowValues | null,
  conflicts: Conflict[],
): RowEffect {
  let added: RowEffect['added'] = null;
  let struck = false;
  const isAddedHere = amendments.some(({ deed }) => deed.kind === 'add');
  for (const amendment of amendments) {
    const { id, deed } = amendment;
    if (!counting.has(id)) continue;
    if (deed.kind === 'strike') struck = true;
    if (deed.kind !== 'add') continue;
    if (source === null) added = deed;
    else if (!agrees(deed.values, source)) {
      conflicts.push({ amendment, reason: 'row is there already', found: null });
    }
  }
  const there = !struck && (source !== null || added !== null);
  const values: Partial<Record<ColumnName, StoredValue>> = { ...added?.values };
  for (const [column, changes] of byColumn(amendments)) {
    const last = changes.findLastIndex(({ id }) => counting.has(id));
    const amendment = changes[last];
    if (!amendment) continue;
    if (source === null) {
      if (added !== null) values[column] = amendment.deed.value;
      // A row written here and taken back is not gone from the source: it never was in it.
      else if (!isAddedHere) conflicts.push({ amendment, reason: 'row is gone', found: null });
    } else if (fits(changes.slice(0, last + 1), source[column] ?? null)) {
      values[column] = amendment.deed.value;
    } else if (!sameValue(source[column], amendment.deed.value)) {
      conflicts.push({ amendment, reason: 'value has changed', found: source[column] ?? null });
    }
  }
  return { there, added, values };
}

function agrees(values: RowValues, source: RowValues): boolean {
  return Object.entries(values).every(
    ([column, value]) =>
      value === null || value === undefined || sameValue(source[column as ColumnName], value),
  );
}

function byColumn(amendments: readonly Amendment[]): Map<ColumnName, OfChange[]> {
  const columns = new Map<ColumnName, OfChange[]>();
  for (const amendment of amendments) {
    if (amendment.deed.kind !== 'change') continue;
    const { column } = amendment.deed;
    const held = columns.get(column) ?? [];
    held.push(amendment as OfChange);
    columns.set(column, held);
  }
  return columns;
}

/** Whether the last of the changes stands, directly or through earlier ones, on this value. */
function fits(changes: readonly OfChange[], source: StoredValue): boolean {
  let from = changes.at(-1)!.deed.old;
  for (let k = changes.length - 2; k >= 0 && !sameValue(from, source); k -= 1) {
    const { value, old } = changes[k]!.deed;
    if (sameValue(value, from)) from = old;
  }
  return sameValue(from, source);
}
