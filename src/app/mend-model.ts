import { computed, type ReadonlySignal, type Signal, signal } from '@preact/signals';
import { makeTable, numberColumn, type Table, textColumn, texts } from '../core/table.ts';
import { accepts } from '../herd/accepts.ts';
import { FOOT_VISIT_SHOWN } from '../herd/cycle-columns.ts';
import { type ColumnName, columnOf, isColumnName } from '../herd/dictionary.ts';
import type { Amendment, Deed, StoredValue } from '../sheet/amendment.ts';
import type { GridEditing, Refusal } from '../sheet/grid-editing.ts';
import type { CachedRow } from '../sheet/row-cache.ts';
import type { GridColumn, RowSource } from '../sheet/row-source.ts';
import { type SetAsideEntry, setAsideEntries, setAsideKey } from '../sheet/set-aside-entries.ts';
import type { Editing, SheetCalls } from './editing.ts';
import { ONE_ROW } from './judge.ts';
import { mendedBooks } from './mended-books.ts';
import type { Caller } from './rpc.ts';

/** Rows set aside, each with the cells of its file, to be mended and admitted. */
interface MendModel {
  readonly pending: ReadonlySignal<readonly SetAsideEntry[]>;
  readonly source: ReadonlySignal<RowSource>;
  readonly editing: GridEditing;
  readonly said: Signal<string>;
  /** The row that was gone to, in full: columns are too narrow for a long reason. */
  readonly reason: ReadonlySignal<string>;
  tell(row: number): Promise<void>;
  isFaulty(row: CachedRow, column: GridColumn): boolean;
}

const RECORD_COLUMNS: readonly GridColumn[] = FOOT_VISIT_SHOWN.filter(({ name }) => isColumnName(name)).map(
  // As text: what stands in a cell may be no number at all.
  ({ name, label }) => ({ name, label }),
);

const MEND_COLUMNS: readonly GridColumn[] = [
  { name: 'set_aside_file', label: 'File' },
  { name: 'set_aside_line', label: 'Line', digits: 0 },
  { name: 'set_aside_why', label: 'Why' },
  { name: 'set_aside_accepted', label: 'What would be accepted' },
  ...RECORD_COLUMNS,
  { name: 'set_aside_raw', label: 'The row as it stood' },
];

const FIRST: readonly string[] = [
  'set_aside_file',
  'set_aside_line',
  'set_aside_why',
  'set_aside_accepted',
  'horse_id',
  'visit_date',
  'foot',
];

/** How many rows are looked at to say which columns stand first. */
const LOOKED_AT = 100;

/** Amendments that fit these files: one in conflict mends nothing. */
export function fittingLog({ log, conflicts }: Editing): readonly Amendment[] {
  const failing = new Set(conflicts.value.map(({ amendment }) => amendment.id));
  return failing.size === 0 ? log.value : log.value.filter(({ id }) => !failing.has(id));
}

type Cells = Readonly<Record<string, string>>;
interface Fault {
  readonly column: string | null;
  readonly reason: string;
  readonly accepted: string;
}

const IN_FILE = 'this row cannot be told apart into cells: mend it in the file and open it again';

export function makeMendModel(setAside: Table, herd: Caller<SheetCalls>, amend: Editing): MendModel {
  const said = signal('');
  const reason = signal('');
  /** What was typed over cells of rows that are not whole yet. */
  const typed = signal<ReadonlyMap<string, Cells>>(new Map());
  const pending = computed(() => setAsideEntries(mendedBooks([], setAside, fittingLog(amend)).setAside));
  const columns = signal<readonly GridColumn[]>(MEND_COLUMNS);

  async function cellsOf({ file, line, foot }: SetAsideEntry): Promise<Cells | null> {
    const key = setAsideKey({ file, line, foot });
    const cells = await herd.call('setAsideCells', { file, line, foot });
    return cells && { ...cells, ...typed.peek().get(key) };
  }

  /** What is wrong with rows as they are typed so far. */
  async function faultsOf(rows: readonly (Cells | null)[]): Promise<(readonly Fault[])[]> {
    const known = rows.flatMap((cells) => (cells ? [{ cells }] : []));
    const judged = known.length > 0 ? await herd.call('judgeRows', known) : [];
    let at = 0;
    return rows.map((cells) => {
      const one = cells && judged[at++];
      return one && !one.ok ? one.faults : [];
    });
  }

  const source = computed<RowSource>(() => {
    const rows = pending.value;
    // Read for the sake of what depends on it: rows are fetched anew when something was typed.
    void typed.value;
    return {
      rowCount: rows.length,
      columns: columns.value,
      sameAs: String(rows.length),
      async fetch(offset, limit) {
        const some = rows.slice(offset, offset + limit);
        const cells = await Promise.all(some.map(cellsOf));
        const faults = await faultsOf(cells);
        // Judged alone a row may be good that was set aside beside another; the file's reason names that other's line.
        const ofRow = faults.map((found) => found.filter(({ accepted }) => accepted !== ONE_ROW));
        const asked = some.map((entry, k) => {
          const isTyped = typed.value.has(setAsideKey(entry));
          return isTyped ? faults[k]! : ofRow[k]!;
        });
        const why = some.map((entry, k) => {
          const words = asked[k]!.map(faultWords);
          return words.length > 0 ? words : entry.reasons;
        });
        return makeTable({
          set_aside_key: textColumn(some.map(setAsideKey)),
          set_aside_file: textColumn(some.map(({ file }) => file)),
          set_aside_line: numberColumn(some.map(({ line }) => line)),
          set_aside_why: textColumn(why.map((words) => words.join('; '))),
          set_aside_accepted: textColumn(
            some.map((entry, k) =>
              (asked[k]!.length > 0 ? asked[k]!.map(({ accepted }) => accepted) : entry.accepted).join('; '),
            ),
          ),
          set_aside_raw: textColumn(some.map(({ raw }) => raw)),
          set_aside_faulty: textColumn(
            faults.map((found) => found.map(({ column }) => column ?? '').join(' ')),
          ),
          ...Object.fromEntries(
            RECORD_COLUMNS.map(({ name }) => [name, textColumn(cells.map((row) => row?.[name] ?? null))]),
          ),
        });
      },
    };
  });

  // Columns with something to mend stand where they are seen without scrolling. Without an answer they stay as they are.
  void Promise.all(pending.value.slice(0, LOOKED_AT).map(cellsOf))
    .then(faultsOf)
    .then((faults) => {
      const faulty = new Set(faults.flat().map(({ column }) => column));
      const isFirst = ({ name }: GridColumn) => FIRST.includes(name) || faulty.has(name);
      columns.value = [...MEND_COLUMNS.filter(isFirst), ...MEND_COLUMNS.filter((column) => !isFirst(column))];
    })
    .catch(() => undefined);

  async function commit({ table, at }: CachedRow, column: GridColumn, text: string): Promise<Refusal | null> {
    const key = texts(table, 'set_aside_key')[at];
    const entry = pending.value.find((one) => setAsideKey(one) === key);
    if (!entry) return { reason: 'this row was mended already', accepted: 'nothing more' };
    const before = await cellsOf(entry);
    if (!before) return { reason: IN_FILE, accepted: 'another line in the file' };
    const cells: Cells = { ...before, [column.name]: text };
    const [judged] = await herd.call('judgeRows', [{ cells }]);
    const where = `Line ${entry.line} of ${entry.file}`;
    if (judged?.ok) {
      const { file, line, foot } = entry;
      const deed: Deed = {
        kind: 'add',
        row: judged.row,
        values: judged.values as Partial<Record<ColumnName, StoredValue>>,
        mends: { file, line, foot },
      };
      await amend.record([deed], null);
      said.value = `${where} was admitted.`;
      reason.value = '';
      return null;
    }
    const faults = judged?.faults ?? [];
    const own = faults.find((fault) => fault.column === column.name);
    if (own) return { reason: own.reason, accepted: own.accepted };
    typed.value = new Map(typed.value).set(key!, { ...typed.value.get(key!), [column.name]: text });
    said.value = `${where} is not admitted yet: ${faults.map(faultWords).join('; ')}.`;
    return null;
  }

  return {
    pending,
    source,
    said,
    reason,
    async tell(row) {
      const table = await source.peek().fetch(row, 1, null);
      const [why = null] = texts(table, 'set_aside_why');
      const [accepted = null] = texts(table, 'set_aside_accepted');
      const entry = pending.peek()[row];
      reason.value = entry ? `Line ${entry.line}: ${why}. Accepted: ${accepted}.` : '';
    },
    isFaulty: ({ table, at }, { name }) =>
      (texts(table, 'set_aside_faulty')[at] ?? '').split(' ').includes(name),
    editing: {
      canEdit: ({ name }) => amend.locked.value === null && isColumnName(name),
      choices: ({ name }) => (isColumnName(name) ? columnOf(name).levels : null),
      accepts: ({ name }) => (isColumnName(name) ? accepts(columnOf(name)) : ''),
      commit,
      clear() {
        said.value = 'A cell here is emptied by typing in it: press F2, then delete what it holds.';
      },
      paste() {
        said.value = 'Here cells are mended one at a time: press F2 and paste into the cell.';
      },
    },
  };
}

function faultWords({ column, reason }: Fault): string {
  return column !== null && isColumnName(column) ? `${columnOf(column).label}: ${reason}` : reason;
}
