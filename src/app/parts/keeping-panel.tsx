import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { AppState } from '../app-state.ts';
import { ChooseFiles } from './choose-files.tsx';
import { studyWords } from './study-question.tsx';

/** Where the user's work lies, how much of it, and how to take it along or be rid of it. */
export function KeepingPanel({ state }: { readonly state: AppState }) {
  const { keeping } = state;
  const study = keeping.study.value;
  const room = useSignal<Room | null>(null);
  const asking = useSignal(false);
  useEffect(() => {
    void measureRoom().then((measured) => {
      room.value = measured;
    });
  }, [room, study]);
  const nowhere = keeping.nowhere.value;
  return (
    <section class="sheet" aria-label="Your work" data-testid="keeping">
      <h1>Your work and where it lies</h1>
      <p class="lead">
        <strong>What leaves this machine: nothing.</strong> Growout has no server to send records to, and the
        page forbids itself to speak to any other.
      </p>
      <dl class="facts">
        <dt>Kept here</dt>
        <dd data-testid="kept">{nowhere ? `Nothing. ${nowhere.message}` : studyWords(study)}</dd>
        <dt>Where</dt>
        <dd>
          In the storage that this browser gives to {location.host || 'this page'}, on this machine and for
          this user of it. Another browser, or a private window, does not see it. Your own files are not
          changed and can be anywhere.
        </dd>
        {room.value && (
          <>
            <dt>How much</dt>
            <dd data-testid="room">{roomWords(room.value)}</dd>
          </>
        )}
      </dl>
      <h2>Take it along</h2>
      <p>
        A study file holds all of it: your files as you chose them, your changes, cohorts, derived columns and
        pages. Opened with Growout on another machine it gives the same results. It holds your records
        unencrypted: mind where you put it.
      </p>
      <p class="actions">
        <button type="button" class="button main" onClick={() => void state.saveStudy()}>
          Save a study file
        </button>
        <ChooseFiles state={state} label="Open a study file" accept=".growout" />
      </p>
      <h2>Be rid of it</h2>
      <p>Erases from this browser everything that Growout has kept. Your own files stay where they are.</p>
      <p class="actions">
        {asking.value ? (
          <span class="asked" role="alertdialog" aria-label="Erase everything?">
            <span>There is no way back, but for a study file saved before.</span>
            <button type="button" class="button main" onClick={() => void state.eraseAll()}>
              Erase it for good
            </button>
            <button
              type="button"
              class="button"
              onClick={() => {
                asking.value = false;
              }}
            >
              Keep it
            </button>
          </span>
        ) : (
          <button
            type="button"
            class="button"
            onClick={() => {
              asking.value = true;
            }}
          >
            Erase everything
          </button>
        )}
      </p>
      <p class="actions">
        <button
          type="button"
          class="button"
          onClick={() => {
            state.sheet.value = { kind: 'none' };
          }}
        >
          To the pages
        </button>
      </p>
    </section>
  );
}

interface Room {
  readonly usedBytes: number;
  readonly givenBytes: number;
  readonly lasting: boolean;
}

async function measureRoom(): Promise<Room | null> {
  try {
    const { usage = 0, quota = 0 } = await navigator.storage.estimate();
    return { usedBytes: usage, givenBytes: quota, lasting: await navigator.storage.persisted() };
  } catch {
    return null;
  }
}

function roomWords({ usedBytes, givenBytes, lasting }: Room): string {
  const share = `About ${megabytes(usedBytes)} of the ${megabytes(givenBytes)} that the browser allows.`;
  return lasting
    ? `${share} The browser keeps it until you erase it.`
    : `${share} The browser may clear it away if the disk runs low, so save a study file from time to time.`;
}

function megabytes(bytes: number): string {
  const mb = bytes / 1e6;
  return mb >= 1000 ? `${(mb / 1000).toFixed(0)} GB` : `${mb.toFixed(mb < 10 ? 1 : 0)} MB`;
}
