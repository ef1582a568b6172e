import { type Signal, useSignal } from '@preact/signals';
import type { Page } from '../../pages/page.ts';
import { withDefaults } from '../../pages/page-defaults.ts';
import type { ChoiceValue } from '../../pages/page-executor.ts';
import { fileStem, withTitle } from '../../pages/page-text.ts';
import type { AppState } from '../app-state.ts';
import type { ComparedCohort } from '../compared-cohorts.ts';
import type { Shelf, ShelvedPage } from '../pages-shelf.ts';
import { saveFile } from '../save-file.ts';

interface PageToolsProps {
  readonly state: AppState;
  readonly shelf: Shelf;
  readonly shown: ShelvedPage;
  readonly page: Page;
  readonly writing: Signal<boolean>;
  readonly compared: Signal<ComparedCohort | null>;
  readonly choices: readonly ComparedCohort[];
  /** What is chosen on the page, by the name of the choice. */
  chosen(): Readonly<Record<string, ChoiceValue>>;
  onSaveDocument(): Promise<void>;
}

type Asked = 'nothing' | 'delete' | 'rename' | 'share';

/** What can be done with a page: write, duplicate, compare, take away. */
export function PageTools({
  state,
  shelf,
  shown,
  page,
  writing,
  compared,
  choices,
  chosen,
  onSaveDocument,
}: PageToolsProps) {
  const asked = useSignal<Asked>('nothing');
  const ask = (what: Asked) => {
    asked.value = asked.peek() === what ? 'nothing' : what;
  };
  const attempt = (job: Promise<unknown>) =>
    job.catch((error: unknown) => {
      state.trouble.value = error instanceof Error ? error.message : String(error);
    });
  const duplicate = () =>
    attempt(
      shelf.duplicate({ ...shown, page, text: withDefaults(shown.text, chosen()) }).then((id) => {
        location.hash = id;
      }),
    );
  return (
    <section class="page-tools" aria-label="This page">
      {shown.own ? (
        <button
          type="button"
          class="button"
          aria-pressed={writing.value}
          onClick={() => {
            writing.value = !writing.value;
          }}
        >
          {writing.value ? 'Done writing' : 'Write'}
        </button>
      ) : null}
      <button type="button" class="button" onClick={duplicate}>
        Duplicate
      </button>
      {shown.own && (
        <>
          {!writing.value && (
            <button
              type="button"
              class="button"
              aria-expanded={asked.value === 'rename'}
              onClick={() => ask('rename')}
            >
              Rename
            </button>
          )}
          <button
            type="button"
            class="button"
            aria-expanded={asked.value === 'delete'}
            onClick={() => ask('delete')}
          >
            Delete
          </button>
        </>
      )}
      <button
        type="button"
        class="button"
        aria-expanded={asked.value === 'share'}
        onClick={() => ask('share')}
      >
        Save or print
      </button>
      <label class="compare">
        Compare with
        <select
          value={compared.value?.key ?? ''}
          onChange={(event) => {
            const { value } = event.currentTarget;
            compared.value = choices.find(({ key }) => key === value) ?? null;
          }}
        >
          <option value="">nothing</option>
          {[...new Set(choices.map(({ group }) => group))].map((group) => (
            <optgroup key={group} label={group}>
              {choices
                .filter((choice) => choice.group === group)
                .map(({ key, label }) => (
                  <option key={key} value={key}>
                    {label}
                  </option>
                ))}
            </optgroup>
          ))}
        </select>
      </label>
      {asked.value === 'share' && <TakeAwayPanel {...{ shown, page, attempt, onSaveDocument }} />}
      {asked.value === 'rename' && (
        <form
          class="tools-panel"
          onSubmit={(event) => {
            event.preventDefault();
            const title = String(new FormData(event.currentTarget).get('title') ?? '').trim();
            if (title === '') return;
            writing.value = false;
            asked.value = 'nothing';
            void attempt(shelf.save(shown.id, withTitle(shelf.find(shown.id)?.text ?? shown.text, title)));
          }}
        >
          <label>
            Title <input name="title" type="text" required value={page.front.title} />
          </label>
          <button type="submit" class="button main">
            Rename
          </button>
        </form>
      )}
      {asked.value === 'delete' && (
        <div class="tools-panel" role="alertdialog" aria-label="Delete this page?">
          <p>Delete “{page.front.title}”? It cannot be brought back, unless you have saved its file.</p>
          <button
            type="button"
            class="button main"
            onClick={() =>
              attempt(
                shelf.remove(shown.id).then(() => {
                  // Another page may come to bear this id: it begins with choices of its own.
                  void state.keeping.saveSetting(`choices/${shown.id}`, {});
                  location.hash = shelf.shipped[0]?.id ?? '';
                }),
              )
            }
          >
            Delete it
          </button>
          <button type="button" class="button" onClick={() => ask('nothing')}>
            Keep it
          </button>
        </div>
      )}
    </section>
  );
}

interface TakeAwayPanelProps extends Pick<PageToolsProps, 'shown' | 'page' | 'onSaveDocument'> {
  attempt(job: Promise<unknown>): Promise<unknown>;
}

function TakeAwayPanel({ shown, page, attempt, onSaveDocument }: TakeAwayPanelProps) {
  const paper = useSignal<'A4' | 'letter'>('A4');
  return (
    <div class="tools-panel">
      <p>
        <button
          type="button"
          class="button"
          onClick={() => saveFile(`${fileStem(page.front.title)}.md`, shown.text, 'text/markdown')}
        >
          Save the page’s file
        </button>{' '}
        To give the page to someone else: it holds the questions, none of your records.
      </p>
      <p>
        <button type="button" class="button" onClick={() => void attempt(onSaveDocument())}>
          Save as HTML
        </button>{' '}
        To show what it says: one file with texts, charts and figures, which runs nothing. It holds results
        from your records.
      </p>
      <p>
        <button type="button" class="button" onClick={() => printOn(paper.value)}>
          Print
        </button>{' '}
        <label>
          on{' '}
          <select
            value={paper.value}
            onChange={(event) => {
              paper.value = event.currentTarget.value as 'A4' | 'letter';
            }}
          >
            <option value="A4">A4</option>
            <option value="letter">US Letter</option>
          </select>
        </label>
      </p>
    </div>
  );
}

/** Prints on a size of paper; the style that asks for it stands only while the printer reads it. */
function printOn(paper: 'A4' | 'letter'): void {
  const style = document.createElement('style');
  style.textContent = `@page { size: ${paper} portrait; }`;
  document.head.append(style);
  addEventListener('afterprint', () => style.remove(), { once: true });
  print();
}
