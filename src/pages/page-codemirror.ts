import { autocompletion, type CompletionContext, type CompletionResult } from '@codemirror/autocomplete';
import { markdown } from '@codemirror/lang-markdown';
import { sql } from '@codemirror/lang-sql';
import { HighlightStyle, syntaxHighlighting } from '@codemirror/language';
import { type Diagnostic, setDiagnostics } from '@codemirror/lint';
import { EditorState } from '@codemirror/state';
import { EditorView, lineNumbers } from '@codemirror/view';
import { tags } from '@lezer/highlight';
import { minimalSetup } from 'codemirror';
import type { PageProblem } from './page.ts';

// Ink and weight rather than a palette: it is a text for reading.
const STYLE = HighlightStyle.define([
  { tag: tags.heading, fontWeight: '700' },
  { tag: tags.strong, fontWeight: '700' },
  { tag: tags.emphasis, fontStyle: 'italic' },
  { tag: [tags.keyword, tags.operatorKeyword], color: 'var(--accent)', fontWeight: '600' },
  { tag: [tags.string, tags.number, tags.bool], color: 'var(--good)' },
  { tag: [tags.comment, tags.processingInstruction, tags.labelName], color: 'var(--ink-soft)' },
  { tag: tags.link, color: 'var(--accent)', textDecoration: 'underline' },
]);

const THEME = EditorView.theme({
  '&': { height: '100%', fontSize: '0.9rem', backgroundColor: 'var(--panel)', color: 'var(--ink)' },
  '&.cm-focused': { outline: '2px solid var(--accent)', outlineOffset: '-2px' },
  '.cm-scroller': { fontFamily: 'ui-monospace, "Liberation Mono", monospace', lineHeight: '1.5' },
  '.cm-content': { caretColor: 'var(--ink)' },
  '.cm-cursor': { borderLeftColor: 'var(--ink)' },
  '.cm-gutters': {
    backgroundColor: 'var(--paper)',
    color: 'var(--ink-soft)',
    borderRight: '1px solid var(--line)',
  },
  '.cm-selectionBackground, &.cm-focused .cm-selectionBackground': {
    backgroundColor: 'var(--accent-wash) !important',
  },
  '.cm-diagnostic': { color: 'var(--ink)', backgroundColor: 'var(--panel)' },
  '.cm-tooltip': { backgroundColor: 'var(--panel)', color: 'var(--ink)', borderColor: 'var(--line)' },
});

export interface PageEditor {
  text(): string;
  /** The line of the cursor, from 1. */
  line(): number;
  /** Puts a whole text in place; one step back undoes it. */
  replace(text: string, line: number): void;
  /** Goes to a line and puts it in view. */
  jump(line: number): void;
  show(problems: readonly PageProblem[]): void;
  destroy(): void;
}

export interface PageEditorOptions {
  readonly text: string;
  readonly label: string;
  changed(text: string): void;
  /** Names to offer: entries of the page and columns of the herd. */
  names(): readonly { readonly label: string; readonly detail: string }[];
}

/** An editor for the text of a page: CommonMark, with SQL inside the fences of queries. */
export function openPageEditor(parent: HTMLElement, options: PageEditorOptions): PageEditor {
  const complete = (context: CompletionContext): CompletionResult | null => {
    const word = context.matchBefore(/[\w.$]+/);
    if (!word || (word.from === word.to && !context.explicit)) return null;
    return { from: word.from, options: [...options.names()], validFor: /^[\w.$]*$/ };
  };
  const language = sql().language;
  const view = new EditorView({
    parent,
    state: EditorState.create({
      doc: options.text,
      extensions: [
        minimalSetup,
        lineNumbers(),
        markdown({ codeLanguages: (info) => (/^query\b/.test(info) ? language : null) }),
        syntaxHighlighting(STYLE),
        autocompletion({ override: [complete], activateOnTyping: true }),
        EditorView.lineWrapping,
        EditorView.contentAttributes.of({ 'aria-label': options.label, spellcheck: 'true', tabindex: '0' }),
        THEME,
        EditorView.updateListener.of((update) => {
          if (update.docChanged) options.changed(update.state.doc.toString());
        }),
      ],
    }),
  });
  const lineAt = (line: number) => view.state.doc.line(Math.max(1, Math.min(line, view.state.doc.lines)));
  return {
    text: () => view.state.doc.toString(),
    line: () => view.state.doc.lineAt(view.state.selection.main.head).number,
    replace(text, line) {
      view.dispatch({ changes: { from: 0, to: view.state.doc.length, insert: text } });
      const { from } = lineAt(line);
      view.dispatch({
        selection: { anchor: from },
        effects: EditorView.scrollIntoView(from, { y: 'center' }),
      });
    },
    jump(line) {
      const { from } = lineAt(line);
      view.dispatch({
        selection: { anchor: from },
        effects: EditorView.scrollIntoView(from, { y: 'center' }),
      });
      view.focus();
    },
    show(problems) {
      const diagnostics = problems.map(({ line, message }): Diagnostic => {
        const { from, to } = lineAt(line);
        return { from, to, severity: 'error', message };
      });
      view.dispatch(
        setDiagnostics(
          view.state,
          diagnostics.sort((a, b) => a.from - b.from),
        ),
      );
    },
    destroy: () => view.destroy(),
  };
}
