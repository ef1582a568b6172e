import { type Signal, useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import type { AnalysisDescription } from '../../pages/analysis-fields.ts';
import type { Page, PageProblem } from '../../pages/page.ts';
import type { PageEditor } from '../../pages/page-codemirror.ts';
import { insertBlock, placeAfter, withTitle } from '../../pages/page-text.ts';
import { parsePage } from '../../pages/parse-page.ts';
import { builderColumns } from '../../pages/query-builder.ts';
import type { PageRuntime } from '../../pages/runtime.ts';
import { PageInsert } from './page-insert.tsx';

const PREVIEW_PAUSE_MS = 300;
const SAVE_PAUSE_MS = 700;

interface PageWriterProps {
  readonly id: string;
  readonly text: string;
  readonly page: Signal<Page>;
  readonly runtime: PageRuntime;
  /** Shows another state of the page. */
  put(page: Page): void;
  save(text: string): Promise<void>;
  /** Every analysis that can be put on the page. */
  lookUpAnalyses(): Promise<readonly AnalysisDescription[]>;
  /** The preview. */
  readonly children: ComponentChildren;
}

/** The text of a page beside what it gives; on a narrow screen one at a time. */
export function PageWriter({
  id,
  text,
  page,
  runtime,
  put,
  save,
  lookUpAnalyses,
  children,
}: PageWriterProps) {
  const frame = useRef<HTMLDivElement>(null);
  const editor = useRef<PageEditor | null>(null);
  const read = useSignal<Page>(page.peek());
  const kept = useSignal<'kept' | 'writing' | { readonly fault: string }>('kept');
  const tab = useSignal<'text' | 'page'>('text');
  const timers = useRef<{ preview?: ReturnType<typeof setTimeout>; save?: ReturnType<typeof setTimeout> }>(
    {},
  );
  const latest = useRef(text);
  const analyses = useSignal<readonly AnalysisDescription[]>([]);

  function keep(): void {
    clearTimeout(timers.current.save);
    delete timers.current.save;
    const written = latest.current;
    save(written).then(
      () => {
        if (latest.current === written) kept.value = 'kept';
      },
      (error: unknown) => {
        kept.value = { fault: error instanceof Error ? error.message : String(error) };
      },
    );
  }

  function preview(): void {
    const next = parsePage(latest.current);
    read.value = next;
    // While a fence stands open, everything after it would be lost from the page for a moment.
    const isOpen = next.problems.some(({ message }) => message.startsWith('entry must be closed'));
    if (!isOpen) put(next);
    editor.current?.show([...next.problems, ...(isOpen ? [] : runtime.graph().problems)]);
  }

  function changed(written: string): void {
    latest.current = written;
    kept.value = 'writing';
    clearTimeout(timers.current.preview);
    clearTimeout(timers.current.save);
    timers.current.preview = setTimeout(preview, PREVIEW_PAUSE_MS);
    timers.current.save = setTimeout(keep, SAVE_PAUSE_MS);
  }

  useEffect(() => {
    let gone = false;
    lookUpAnalyses().then(
      (found) => {
        analyses.value = found;
      },
      () => undefined,
    );
    void import('../../pages/page-codemirror.ts').then(({ openPageEditor }) => {
      if (gone || !frame.current) return;
      editor.current = openPageEditor(frame.current, {
        text: latest.current,
        label: 'Text of the page',
        changed,
        names: () => [
          ...read.peek().entries.map(({ name, kind }) => ({ label: name, detail: kind })),
          ...builderColumns('foot_visit').map(({ name, label }) => ({ label: name, detail: label })),
        ],
      });
      preview();
    });
    return () => {
      gone = true;
      editor.current?.destroy();
      editor.current = null;
      clearTimeout(timers.current.preview);
      if (timers.current.save !== undefined) {
        preview();
        keep();
      }
    };
  }, [id]);

  const insert = (block: string): void => {
    const open = editor.current;
    if (!open) return;
    const put = insertBlock(open.text(), placeAfter(open.text(), open.line()), block);
    open.replace(put.text, put.line + block.trimEnd().split('\n').length - 1);
    clearTimeout(timers.current.preview);
    preview();
  };
  const problems = problemsOf(read.value, page.value === read.value ? runtime : null);
  const show = (which: 'text' | 'page') => ({
    type: 'button' as const,
    class: 'button',
    'aria-pressed': tab.value === which,
    onClick: () => {
      tab.value = which;
    },
  });
  return (
    <div class={`writer shows-${tab.value}`}>
      <div class="writer-tabs">
        <button {...show('text')}>Text</button>
        <button {...show('page')}>Page</button>
      </div>
      <section class="writer-text" aria-label="Writing">
        <label class="writer-title">
          Title
          <input
            type="text"
            value={read.value.front.title}
            onChange={(event) => {
              const open = editor.current;
              const title = event.currentTarget.value.trim();
              if (open && title !== '') open.replace(withTitle(open.text(), title), open.line());
            }}
          />
        </label>
        <PageInsert page={read.value} runtime={runtime} analyses={analyses.value} onInsert={insert} />
        <div class="writer-frame" ref={frame} />
        <p class="soft writer-kept" aria-live="polite" data-testid="page-kept">
          {kept.value === 'kept' && 'All changes are kept.'}
          {kept.value === 'writing' && 'Writing…'}
          {typeof kept.value === 'object' && `This could not be kept: ${kept.value.fault}`}
        </p>
        <ProblemList problems={problems} onJump={(line) => editor.current?.jump(line)} />
      </section>
      <section class="writer-page" aria-label="Preview">
        {children}
      </section>
    </div>
  );
}

/** Of the text, and, where the page stands as it is written, of what its entries say of one another. */
function problemsOf(page: Page, runtime: PageRuntime | null): PageProblem[] {
  const all = [...page.problems, ...(runtime?.graph().problems ?? [])];
  return all.sort((a, b) => a.line - b.line);
}

function ProblemList({
  problems,
  onJump,
}: {
  readonly problems: readonly PageProblem[];
  onJump(line: number): void;
}) {
  if (problems.length === 0) return <p class="soft">The text can be read without faults.</p>;
  return (
    <ul class="problem-list" aria-label="Faults in the text">
      {problems.map(({ line, entry, message }) => (
        <li key={`${line} ${entry} ${message}`}>
          <button type="button" class="link" onClick={() => onJump(line)}>
            line {line}
          </button>{' '}
          {entry && <code>{entry}</code>} {message}
        </li>
      ))}
    </ul>
  );
}
