import type { ComponentChildren } from 'preact';
import { useRef, useState } from 'preact/hooks';
import { columnTitle } from '../core/format-value.ts';
import { type AfterEdit, CellEditor } from './cell-editor.tsx';
import type { GridLayout } from './grid-cells.tsx';
import type { Draft, GridEditing } from './grid-editing.ts';
import type { GridPlace } from './grid-keys.ts';
import type { CachedRow } from './row-cache.ts';
import { plainCell } from './rows-as-text.ts';

interface DraftParts {
  readonly id: string;
  readonly layout: GridLayout;
  readonly editing: GridEditing | undefined;
  readonly get: (row: number) => CachedRow | null;
  readonly toGrid: () => void;
  readonly moveOn: (from: GridPlace, after: AfterEdit) => void;
  readonly say: (text: string) => void;
}

interface Typing {
  readonly draft: Draft | null;
  isAt(place: GridPlace): boolean;
  /** Typing in a cell begins with its value, or with a first letter in its place. */
  begin(place: GridPlace, first: string | null): void;
  finish(text: string, after: AfterEdit): void;
  editor(): ComponentChildren;
}

/** The life of a cell being typed in: begun, judged, refused and typed again, set or left. */
export function useDraft({ id, layout, editing, get, toGrid, moveOn, say }: DraftParts): Typing {
  const [draft, show] = useState<Draft | null>(null);
  // Beside the state: a blur that follows on a key must not find the draft that the key has finished.
  const current = useRef<Draft | null>(null);
  const set = (next: Draft | null) => {
    current.current = next;
    show(next);
  };

  const begin = (place: GridPlace, first: string | null) => {
    const column = layout.columns[place.column];
    const row = get(place.row);
    if (!editing || !column || !row || current.current?.isJudging) return;
    if (!editing.canEdit(column)) {
      say(`${column.label} is worked out or kept as it was read: it cannot be changed here`);
      return;
    }
    const before = plainCell(row.table, column.name, row.at);
    set({
      ...place,
      seen: row,
      text: first ?? before,
      chosen: null,
      before,
      isJudging: false,
      refusal: null,
    });
  };

  const leave = () => {
    set(null);
    toGrid();
  };

  const finish = async (text: string, after: AfterEdit) => {
    const held = current.current;
    const column = held && layout.columns[held.column];
    if (!held || !column || !editing || held.isJudging) return;
    const done = () => {
      set(null);
      // Left by pressing elsewhere, the focus belongs there.
      if (after === 'stay' && !isInside(document.activeElement, id)) return;
      toGrid();
      if (after !== 'stay') moveOn(held, after);
    };
    if (text === held.before) return done();
    if (after === 'stay' && held.refusal && text === held.text) {
      say(`${column.label} stays as it was: ${held.refusal.reason}`);
      return done();
    }
    set({ ...held, text, chosen: null, isJudging: true });
    try {
      const refusal = await editing.commit(held.seen, column, text);
      if (refusal === null) done();
      else set({ ...held, text, chosen: null, isJudging: false, refusal });
    } catch (error) {
      const reason = error instanceof Error ? error.message : String(error);
      set({
        ...held,
        text,
        chosen: null,
        isJudging: false,
        refusal: { reason, accepted: editing.accepts(column) },
      });
    }
  };

  return {
    draft,
    isAt: ({ row, column }) => draft !== null && draft.row === row && draft.column === column,
    begin,
    finish: (text, after) => void finish(text, after),
    editor() {
      const column = draft && layout.columns[draft.column];
      if (!draft || !column || !editing) return null;
      return (
        <CellEditor
          id={`${id}-draft`}
          label={columnTitle(column)}
          draft={draft}
          choices={editing.choices(column)}
          onText={(text) => set({ ...draft, text, chosen: null })}
          onChoose={(chosen) => set({ ...draft, chosen })}
          onDone={(text, after) => void finish(text, after)}
          onLeave={leave}
        />
      );
    },
  };
}

/** Is this element, or nothing at all, inside the grid that the draft belongs to? */
function isInside(element: Element | null, id: string): boolean {
  if (!element || element === document.body) return true;
  return element.closest('.row-grid')?.querySelector(`[id^="${id}-"]`) !== null;
}
