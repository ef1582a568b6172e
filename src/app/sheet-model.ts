import { computed, effect, type ReadonlySignal, type Signal, signal } from '@preact/signals';
import { type Table, texts } from '../core/table.ts';
import type { Deed, RowKey } from '../sheet/amendment.ts';
import { type CellRange, cellCount } from '../sheet/cell-range.ts';
import type { GridEditing, Refusal } from '../sheet/grid-editing.ts';
import { type PasteFault, planPaste } from '../sheet/paste-plan.ts';
import { readBlock } from '../sheet/read-block.ts';
import type { CachedRow } from '../sheet/row-cache.ts';
import type { GridColumn, RowSort, RowSource } from '../sheet/row-source.ts';
import { arrange, readLayout, type SheetLayout } from '../sheet/sheet-layout.ts';
import type { SheetFilter, SheetView } from '../sheet/view.ts';
import { type Editing, NotInEffect, type SheetCalls } from './editing.ts';
import type { Caller } from './rpc.ts';
import type { SheetKept } from './sheet-kept.ts';
import type { Judged, SheetColumn, TypedCell } from './sheet-service.ts';

/** A paste or a clearing beyond this is a slip more often than a wish. */
const MOST_CELLS = 50_000;
const LAYOUT = 'sheet-layout';

/** What came of the last action, until it is put away. */
interface Outcome {
  readonly text: string;
  readonly faults: readonly PasteFault[];
}

export interface SheetModel {
  readonly columns: ReadonlySignal<readonly SheetColumn[]>;
  readonly shown: ReadonlySignal<{ readonly columns: readonly SheetColumn[]; readonly fixed: number }>;
  readonly layout: ReadonlySignal<SheetLayout>;
  readonly filters: Signal<readonly SheetFilter[]>;
  readonly sort: Signal<RowSort | null>;
  readonly wholeHerd: Signal<boolean>;
  readonly source: ReadonlySignal<RowSource | null>;
  readonly failure: ReadonlySignal<string | null>;
  readonly marked: Signal<CellRange | null>;
  /** Goes with every change until it is emptied. */
  readonly reason: Signal<string>;
  readonly outcome: Signal<Outcome | null>;
  readonly goTo: Signal<{ readonly row: number } | null>;
  readonly editing: GridEditing;
  view(): SheetView;
  setLayout(layout: SheetLayout): void;
  strikeMarked(reason: string): Promise<void>;
  /** Records deeds with the reason that stands; what goes wrong is told. */
  record(deeds: readonly Deed[], reason?: string | null): Promise<boolean>;
  /** Brings a row into view, if it is in the view at all. */
  showRow(row: RowKey): Promise<void>;
  dispose(): void;
}

interface SheetParts {
  readonly herd: Caller<SheetCalls>;
  readonly amend: Editing;
  readonly kept: SheetKept;
  /** Grows whenever a row may have changed. */
  readonly version: ReadonlySignal<number>;
  /** Which herd stands: rows of another are taken away at once, not when those of this one are there. */
  readonly standing: ReadonlySignal<string>;
}

interface Count {
  readonly of: string;
  readonly rows: number;
  readonly version: number;
  readonly standing: string;
}

const whole = new Intl.NumberFormat('en-GB');
const cellsWord = (n: number) => `${whole.format(n)} ${n === 1 ? 'cell' : 'cells'}`;
const sentence = (error: unknown) => (error instanceof Error ? error.message : String(error));

/** The state of one sheet over the herd's visits, apart from how it is drawn. */
export function makeSheetModel({ herd, amend, kept, version, standing }: SheetParts): SheetModel {
  const columns = signal<readonly SheetColumn[]>([]);
  const layout = signal<SheetLayout>(readLayout(kept.setting(LAYOUT)));
  const filters = signal<readonly SheetFilter[]>([]);
  const sort = signal<RowSort | null>(null);
  const wholeHerd = signal(true);
  const count = signal<Count | null>(null);
  const failure = signal<string | null>(null);
  const marked = signal<CellRange | null>(null);
  const reason = signal('');
  const outcome = signal<Outcome | null>(null);
  const goTo = signal<{ readonly row: number } | null>(null);
  const shown = computed(() => arrange(columns.value, layout.value));
  const shownColumns = computed(() => shown.value.columns);
  const view = (): SheetView => ({ filters: filters.value, sort: null, wholeHerd: wholeHerd.value });

  const source = computed<RowSource | null>(() => {
    const counted = count.value;
    if (!counted || counted.standing !== standing.value || shownColumns.value.length === 0) return null;
    const now = filters.peek();
    const all = wholeHerd.peek();
    return {
      rowCount: counted.rows,
      columns: shownColumns.value,
      sameAs: counted.of,
      fetch: (offset, limit, order) =>
        herd.call('sheetRows', { view: { filters: now, sort: order, wholeHerd: all }, offset, limit }),
    };
  });

  const stopLooking = effect(() => {
    const seen = version.value;
    const stands = standing.value;
    const asked = view();
    const controller = new AbortController();
    const { signal: stop } = controller;
    void (async () => {
      try {
        const found = await herd.call('sheetColumns', null, { signal: stop });
        const rows = await herd.call('sheetCount', asked, { signal: stop });
        if (stop.aborted) return;
        failure.value = null;
        // The same columns stay the same object, so that the grid keeps its widths.
        if (JSON.stringify(found) !== JSON.stringify(columns.peek())) columns.value = found;
        count.value = { of: JSON.stringify([stands, asked]), rows, version: seen, standing: stands };
      } catch (error) {
        if (!stop.aborted) failure.value = sentence(error);
      }
    })();
    return () => controller.abort();
  });

  const stopClearing = effect(() => {
    void standing.value;
    // What was marked and said belongs to rows that are gone.
    marked.value = null;
    outcome.value = null;
  });

  const byName = (name: string) => columns.value.find((column) => column.name === name);
  const canEdit = ({ name }: GridColumn) => amend.locked.value === null && (byName(name)?.editable ?? false);

  async function keysOf(top: number, end: number): Promise<readonly (string | null)[]> {
    const from = source.value;
    return from && end > top ? keys(await from.fetch(top, end - top, sort.value)) : [];
  }
  const keys = (table: Table): readonly (string | null)[] => texts(table, 'row_key');

  async function record(deeds: readonly Deed[], why: string | null = reason.value.trim() || null) {
    try {
      await amend.record(deeds, why);
      return true;
    } catch (error) {
      const text = error instanceof NotInEffect ? error.message : `Nothing was changed: ${sentence(error)}`;
      outcome.value = { text, faults: [] };
      return false;
    }
  }

  const changeOf = ({ row, column }: TypedCell, judged: Judged): Deed[] =>
    judged.ok && judged.old !== judged.value
      ? [
          {
            kind: 'change',
            row,
            column: column as Extract<Deed, { kind: 'change' }>['column'],
            old: judged.old,
            value: judged.value,
          },
        ]
      : [];

  async function commit(seen: CachedRow, column: GridColumn, text: string): Promise<Refusal | null> {
    const row = keys(seen.table)[seen.at];
    if (!row) throw new Error('this row cannot be told from others');
    const cell = { row, column: column.name, text };
    const [judged] = await herd.call('judgeCells', [cell]);
    if (!judged) throw new Error('nothing was said of this cell');
    if (!judged.ok) return { reason: judged.reason, accepted: judged.accepted };
    await amend.record(changeOf(cell, judged), reason.value.trim() || null);
    return null;
  }

  /** Judges a block, sets all good cells as one action and tells of each of the others. */
  async function setBlock(block: readonly (readonly string[])[], row: number, column: number, verb: string) {
    const target = { columns: shownColumns.value, rowCount: source.value?.rowCount ?? 0, canEdit };
    const plan = planPaste(block, { row, column }, target);
    const rows = await keysOf(row, Math.min(target.rowCount, row + block.length));
    const cells = plan.cells.map(
      (cell): TypedCell => ({
        row: rows[cell.row - row] ?? '',
        column: target.columns[cell.column]!.name,
        text: cell.text,
      }),
    );
    const judged = await herd.call('judgeCells', cells);
    const refused = judged.flatMap((one, k): PasteFault[] => {
      const cell = plan.cells[k]!;
      if (one.ok) return [];
      return [
        {
          pastedRow: cell.row - row + 1,
          sheetRow: cell.row + 1,
          column: target.columns[cell.column]!.label,
          value: cell.text,
          reason: one.reason,
          accepted: one.accepted,
        },
      ];
    });
    const deeds = judged.flatMap((one, k) => changeOf(cells[k]!, one));
    const faults = [...plan.faults, ...refused].sort((a, b) => a.pastedRow - b.pastedRow);
    if (!(await record(deeds))) return;
    const same = judged.filter((one) => one.ok).length - deeds.length;
    outcome.value = {
      text:
        `${cellsWord(deeds.length)} ${verb}${same > 0 ? `, ${whole.format(same)} stood so already` : ''}` +
        `${faults.length > 0 ? `, ${whole.format(faults.length)} not ${verb}` : ''}.`,
      faults,
    };
  }

  const told = (what: string, job: () => Promise<void>): Promise<void> =>
    job().catch((error: unknown) => {
      outcome.value = { text: `${what}: ${sentence(error)}`, faults: [] };
    });

  const editing: GridEditing = {
    canEdit,
    choices: ({ name }) => choicesOf(byName(name)),
    accepts: ({ name }) => byName(name)?.accepts ?? '',
    commit,
    clear(range) {
      void told('Nothing was cleared', async () => {
        if (cellCount(range) > MOST_CELLS) throw new Error(tooMany(cellCount(range)));
        const width = range.right - range.left + 1;
        const block = Array.from({ length: range.bottom - range.top + 1 }, () =>
          Array<string>(width).fill(''),
        );
        await setBlock(block, range.top, range.left, 'cleared');
      });
    },
    paste(at, text) {
      void told('Nothing was pasted', async () => {
        const block = readBlock(text);
        const size = block.reduce((sum, row) => sum + row.length, 0);
        if (size > MOST_CELLS) throw new Error(tooMany(size));
        await setBlock(block, at.row, at.column, 'set');
      });
    },
  };

  return {
    columns,
    shown,
    layout,
    filters,
    sort,
    wholeHerd,
    source,
    failure,
    marked,
    reason,
    outcome,
    goTo,
    editing,
    view,
    setLayout(next) {
      layout.value = next;
      void kept.saveSetting(LAYOUT, next);
    },
    async strikeMarked(why) {
      const range = marked.value;
      if (!range) return;
      await told('Nothing was changed', async () => {
        const rows = await keysOf(range.top, range.bottom + 1);
        const deeds = rows.flatMap((row): Deed[] => (row ? [{ kind: 'strike', row }] : []));
        if (!(await record(deeds, why.trim() || null))) return;
        const n = deeds.length;
        const text = `${whole.format(n)} ${n === 1 ? 'row counts' : 'rows count'} no longer.`;
        outcome.value = { text, faults: [] };
      });
    },
    record,
    async showRow(row) {
      const place = await herd.call('sheetPlace', { view: { ...view(), sort: sort.value }, row });
      if (place !== null) goTo.value = { row: place };
    },
    dispose() {
      stopLooking();
      stopClearing();
    },
  };
}

const tooMany = (n: number) =>
  `${whole.format(n)} cells at once are more than ${whole.format(MOST_CELLS)}: take fewer`;

/** Words offered while a cell is typed. */
export function choicesOf(column: SheetColumn | undefined): readonly string[] | null {
  if (column?.kind === 'level') return column.levels;
  if (column?.kind === 'grade') return ['0', '1', '2', '3'];
  return column?.kind === 'boolean' ? ['yes', 'no'] : null;
}
