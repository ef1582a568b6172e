// biome-ignore-all lint/a11y/useFocusableInteractive: the field keeps the focus and names the word gone to
// biome-ignore-all lint/a11y/noStaticElementInteractions: pressing here only keeps the focus where it is
// biome-ignore-all lint/a11y/useKeyWithClickEvents: the field's arrows choose by keyboard
import type { RefObject } from 'preact';
import { useLayoutEffect, useRef, useState } from 'preact/hooks';
import { fittingChoices } from './cell-editor.tsx';
import type { Draft } from './grid-editing.ts';

interface DraftNoteProps {
  readonly id: string;
  /** The id of the cell that the note stands under. */
  readonly cell: string;
  readonly frame: RefObject<HTMLDivElement | null>;
  readonly draft: Draft;
  readonly choices: readonly string[] | null;
  readonly accepts: string;
  readonly onPick: (choice: string) => void;
  /** Anything that moves the cell. */
  readonly moved: number;
}

/** Under a cell being typed in: the words it can hold, what it accepts, and why a value could not stand. */
export function DraftNote({ id, cell, frame, draft, choices, accepts, onPick, moved }: DraftNoteProps) {
  const [at, setAt] = useState<{ left: number; top: number } | null>(null);
  const note = useRef<HTMLDivElement>(null);
  useLayoutEffect(() => {
    const box = document.getElementById(cell)?.getBoundingClientRect();
    const around = frame.current?.getBoundingClientRect();
    if (!box || !around) return;
    const tall = note.current?.offsetHeight ?? 0;
    const wide = note.current?.offsetWidth ?? 0;
    // Above the cell where there is no room left under it in the window.
    const isAbove = box.bottom + tall > innerHeight && box.top - tall > 0;
    const top = (isAbove ? box.top - tall : box.bottom) - around.top;
    const left = Math.max(0, Math.min(box.left - around.left, around.width - wide));
    if (at?.left !== left || at.top !== top) setAt({ left, top });
  }, [cell, moved, draft.text, draft.refusal, at]);
  const shown = choices ? fittingChoices(choices, draft) : [];
  return (
    <div
      class="draft-note"
      ref={note}
      style={at ? { left: `${at.left}px`, top: `${at.top}px` } : { visibility: 'hidden' }}
      // The field must not lose the focus to a press here.
      onPointerDown={(event) => event.preventDefault()}
      onMouseDown={(event) => event.preventDefault()}
    >
      {choices && (
        <div class="draft-choices" role="listbox" id={`${id}-list`} aria-label="Words it can hold">
          {shown.map((choice, k) => (
            <div
              key={choice}
              role="option"
              id={`${id}-${k}`}
              aria-selected={draft.chosen === choice}
              onClick={() => onPick(choice)}
            >
              {choice}
            </div>
          ))}
        </div>
      )}
      <p id={`${id}-said`} class={draft.refusal ? 'draft-refusal' : 'draft-accepts'} role="status">
        {draft.refusal
          ? `Not set: ${draft.refusal.reason}. Accepted: ${draft.refusal.accepted}`
          : draft.isJudging
            ? 'Checking…'
            : accepts}
      </p>
    </div>
  );
}
