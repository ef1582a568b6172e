import { type Signal, useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { AppState } from '../app-state.ts';
import { OWN, openPages, type Shelf } from '../pages-shelf.ts';
import { Contents, RECORDS } from './contents.tsx';
import { EngineNotice, otherTrouble } from './engine-notice.tsx';
import { KeepingNotice } from './keeping-notice.tsx';
import { Later } from './later.tsx';
import * as parts from './later-parts.ts';
import { Masthead } from './masthead.tsx';
import { PagePreview } from './page-preview.tsx';
import { Welcome } from './welcome.tsx';

interface AppProps {
  readonly state: AppState;
  readonly shelf: Shelf;
  readonly current: Signal<string>;
}

export function App({ state, shelf, current }: AppProps) {
  const dragging = useSignal(false);
  const sheet = state.sheet.value;
  const fresh = useSignal<string | null>(null);
  const pages = [...shelf.shipped, ...shelf.own.value];
  const shown = pages.find((page) => page.id === current.value) ?? pages[0];
  // A page of the user's own is listed only when what reads pages is here.
  const preview = !current.value.startsWith(OWN) || shown?.id === current.value ? shown : undefined;
  const opened = state.opened.value;
  const isRecords = current.value === RECORDS;
  const title = isRecords ? 'Records' : shown?.page.front.title;
  useEffect(() => {
    document.title = title ? `${title} · Growout` : 'Growout';
  }, [title]);
  const main = useRef<HTMLElement>(null);
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: dropping files has a keyboard equal in the masthead's button
    <div
      class={dragging.value ? 'shell dragging' : 'shell'}
      onDragOver={(event) => {
        event.preventDefault();
        dragging.value = true;
      }}
      onDragLeave={(event) => {
        if (event.relatedTarget === null) dragging.value = false;
      }}
      onDrop={(event) => {
        event.preventDefault();
        dragging.value = false;
        void openPages(shelf, [...(event.dataTransfer?.files ?? [])], state).then((others) =>
          state.openFiles(others),
        );
      }}
    >
      <button type="button" class="button skip" onClick={() => main.current?.focus()}>
        Past the contents
      </button>
      <Masthead state={state} />
      <Busy state={state} />
      <EngineNotice state={state} />
      <KeepingNotice state={state} />
      <div class="columns">
        <Contents
          state={state}
          shelf={shelf}
          onNew={() =>
            void shelf.create().then(
              (id) => {
                fresh.value = id;
                location.hash = id;
              },
              (error: Error) => {
                state.trouble.value = error.message;
              },
            )
          }
          current={isRecords ? RECORDS : (shown?.id ?? '')}
          onChoose={() => {
            state.sheet.value = { kind: 'none' };
          }}
        />
        <main ref={main} tabIndex={-1}>
          {sheet.kind === 'mapping' && (
            <Later load={parts.mappingSheet} with={{ state, inspections: sheet.inspections }} />
          )}
          {sheet.kind === 'records' && <Later load={parts.recordsSheet} with={{ state }} />}
          {sheet.kind === 'keeping' && <Later load={parts.keepingPanel} with={{ state }} />}
          {sheet.kind === 'study' && (
            <Later load={parts.studyQuestion} with={{ state, file: sheet.file, study: sheet.study }} />
          )}
          {sheet.kind === 'none' && (
            <>
              {!isRecords && shown === pages[0] && <Welcome state={state} />}
              {state.loaded.value && <Later load={parts.cohortBar} with={{ state }} meanwhile="" />}
              {isRecords && state.loaded.value && <Later load={parts.sheetPlace} with={{ state }} />}
              {!isRecords && state.loaded.value && shown && (
                <Later
                  key={shown.id}
                  load={parts.pageHost}
                  with={{ state, shelf, shown, fresh: fresh.peek() === shown.id }}
                  meanwhile={<PagePreview shown={shown} />}
                />
              )}
              {!isRecords && !state.loaded.value && preview && <PagePreview shown={preview} />}
            </>
          )}
        </main>
      </div>
      {opened && <Later load={parts.rowsPanel} with={{ state, behind: opened }} />}
      <footer class="colophon">
        Nothing leaves this machine. Your records and what you do with them are kept in this browser; your
        files stay as they were.{' '}
        <button
          type="button"
          onClick={() => {
            state.sheet.value = { kind: 'keeping' };
          }}
        >
          Where your work lies, how to take it along, and how to erase it
        </button>
      </footer>
      {dragging.value && (
        <p class="drop-note">
          Drop visit records here (CSV or Parquet, several files at once), a page (.md), or a study file
        </p>
      )}
    </div>
  );
}

/** Work under way, and what went wrong last. */
function Busy({ state }: { readonly state: AppState }) {
  const busy = state.busy.value;
  const trouble = otherTrouble(state);
  return (
    <div class="busy-slot" aria-live="polite">
      {busy && (
        <p class="busy" data-testid="busy">
          <progress max={1} value={busy.fraction} aria-label={busy.stage} />
          <span>{busy.stage}</span>
          {busy.cancel && (
            <button type="button" class="button" onClick={busy.cancel}>
              Stop
            </button>
          )}
        </p>
      )}
      {trouble && (
        <p class="trouble" role="alert" data-testid="trouble">
          <span>{trouble}</span>
          <button
            type="button"
            class="button"
            onClick={() => {
              state.trouble.value = null;
            }}
          >
            Understood
          </button>
        </p>
      )}
    </div>
  );
}
