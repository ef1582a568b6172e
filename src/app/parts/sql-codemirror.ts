import { autocompletion, type CompletionContext, type CompletionResult } from '@codemirror/autocomplete';
import { PostgreSQL, sql } from '@codemirror/lang-sql';
import { HighlightStyle, syntaxHighlighting } from '@codemirror/language';
import { setDiagnostics } from '@codemirror/lint';
import { EditorState } from '@codemirror/state';
import { EditorView } from '@codemirror/view';
import { tags } from '@lezer/highlight';
import { minimalSetup } from 'codemirror';

const STYLE = HighlightStyle.define([
  { tag: [tags.keyword, tags.operatorKeyword], color: 'var(--accent)', fontWeight: '600' },
  { tag: [tags.string, tags.number, tags.bool], color: 'var(--good)' },
  { tag: tags.comment, color: 'var(--ink-soft)' },
]);

const THEME = EditorView.theme({
  '&': { fontSize: '0.9rem', backgroundColor: 'var(--panel)', color: 'var(--ink)' },
  '&.cm-focused': { outline: '2px solid var(--accent)', outlineOffset: '-1px' },
  '.cm-scroller': { fontFamily: 'ui-monospace, "Liberation Mono", monospace', lineHeight: '1.5' },
  '.cm-content': { caretColor: 'var(--ink)', minHeight: '3.2rem' },
  '.cm-cursor': { borderLeftColor: 'var(--ink)' },
  '.cm-selectionBackground, &.cm-focused .cm-selectionBackground': {
    backgroundColor: 'var(--accent-wash) !important',
  },
  '.cm-tooltip': { backgroundColor: 'var(--panel)', color: 'var(--ink)', borderColor: 'var(--line)' },
  '.cm-diagnostic': { color: 'var(--ink)', backgroundColor: 'var(--panel)' },
});

/** A word offered while an expression is typed. */
export interface OfferedName {
  readonly label: string;
  readonly detail: string;
}

export interface SqlEditor {
  /** Marks a place as faulty, or nothing. */
  mark(fault: { readonly offset: number; readonly message: string } | null): void;
  destroy(): void;
}

export interface SqlEditorOptions {
  readonly text: string;
  readonly label: string;
  readonly describedBy: string;
  changed(text: string): void;
  names(): readonly OfferedName[];
}

/** An editor for one expression, with the columns' names offered as they are typed. */
export function openSqlEditor(parent: HTMLElement, options: SqlEditorOptions): SqlEditor {
  const complete = (context: CompletionContext): CompletionResult | null => {
    const word = context.matchBefore(/\w+/);
    if (!word && !context.explicit) return null;
    return { from: word?.from ?? context.pos, options: [...options.names()], validFor: /^\w*$/ };
  };
  const view = new EditorView({
    parent,
    state: EditorState.create({
      doc: options.text,
      extensions: [
        minimalSetup,
        sql({ dialect: PostgreSQL }),
        syntaxHighlighting(STYLE),
        autocompletion({ override: [complete] }),
        EditorView.lineWrapping,
        EditorView.contentAttributes.of({
          'aria-label': options.label,
          'aria-describedby': options.describedBy,
          spellcheck: 'false',
        }),
        THEME,
        EditorView.updateListener.of((update) => {
          if (update.docChanged) options.changed(update.state.doc.toString());
        }),
      ],
    }),
  });
  return {
    mark(fault) {
      const { doc } = view.state;
      const at = fault ? Math.min(fault.offset, doc.length) : 0;
      const word = /^\w+/.exec(doc.sliceString(at, Math.min(doc.length, at + 64)))?.[0].length ?? 1;
      // What is missing at the end is marked on the last letter there is.
      const from = at >= doc.length ? Math.max(0, doc.length - 1) : at;
      view.dispatch(
        setDiagnostics(
          view.state,
          fault
            ? [{ from, to: Math.min(doc.length, from + word), severity: 'error', message: fault.message }]
            : [],
        ),
      );
    },
    destroy: () => view.destroy(),
  };
}
