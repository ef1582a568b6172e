import { useEffect, useLayoutEffect, useRef } from 'preact/hooks';
import type { Draft } from './grid-editing.ts';

export type AfterEdit = 'down' | 'up' | 'right' | 'left' | 'stay';

interface CellEditorProps {
  readonly id: string;
  readonly label: string;
  readonly draft: Draft;
  readonly choices: readonly string[] | null;
  readonly onText: (text: string) => void;
  readonly onChoose: (choice: string | null) => void;
  readonly onDone: (text: string, after: AfterEdit) => void;
  readonly onLeave: () => void;
}

/** The words still fitting what is typed; all of them before anything was. */
export function fittingChoices(choices: readonly string[], { text, before }: Draft): readonly string[] {
  const typed = text.trim().toLowerCase();
  if (typed === '' || text === before) return choices;
  return choices.filter((choice) => choice.toLowerCase().startsWith(typed));
}

/** The field in the cell. Enter and Tab set the value, Escape leaves the old one; arrows go through offered words. */
export function CellEditor({
  id,
  label,
  draft,
  choices,
  onText,
  onChoose,
  onDone,
  onLeave,
}: CellEditorProps) {
  const field = useRef<HTMLInputElement>(null);
  const { chosen } = draft;
  const shown = choices ? fittingChoices(choices, draft) : [];
  const at = chosen === null ? -1 : shown.indexOf(chosen);
  useLayoutEffect(() => {
    const element = field.current;
    if (!element) return;
    element.focus({ preventScroll: true });
    // Typing began the edit: it goes on after what was typed. Otherwise the old value is there to be overwritten.
    if (draft.text === draft.before) element.select();
    else element.setSelectionRange(draft.text.length, draft.text.length);
  }, []);
  useEffect(() => {
    if (draft.refusal) field.current?.focus({ preventScroll: true });
  }, [draft.refusal]);
  const finish = (after: AfterEdit) => onDone(chosen ?? draft.text, after);
  const onKeyDown = (event: KeyboardEvent) => {
    event.stopPropagation();
    if (event.isComposing) return;
    const step = event.key === 'ArrowDown' ? 1 : event.key === 'ArrowUp' ? -1 : 0;
    if (step !== 0 && shown.length > 0) {
      event.preventDefault();
      // From nothing gone to, down leads to the first word and up to the last.
      const next = at < 0 && step < 0 ? shown.length - 1 : at + step;
      onChoose(shown[(next + shown.length) % shown.length] ?? null);
    } else if (event.key === 'Enter') {
      event.preventDefault();
      finish(event.shiftKey ? 'up' : 'down');
    } else if (event.key === 'Tab') {
      event.preventDefault();
      finish(event.shiftKey ? 'left' : 'right');
    } else if (event.key === 'Escape') {
      event.preventDefault();
      onLeave();
    }
  };
  return (
    <input
      ref={field}
      class="cell-editor"
      type="text"
      autocomplete="off"
      spellcheck={false}
      value={chosen ?? draft.text}
      readOnly={draft.isJudging}
      aria-label={label}
      aria-invalid={draft.refusal !== null}
      aria-describedby={`${id}-said`}
      {...(choices
        ? {
            role: 'combobox',
            'aria-expanded': shown.length > 0,
            'aria-controls': `${id}-list`,
            'aria-autocomplete': 'list' as const,
            ...(at >= 0 ? { 'aria-activedescendant': `${id}-${at}` } : {}),
          }
        : {})}
      onInput={(event) => onText(event.currentTarget.value)}
      onKeyDown={onKeyDown}
      onBlur={() => finish('stay')}
    />
  );
}
