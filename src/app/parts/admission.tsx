import { useSignal } from '@preact/signals';
import type { AdmitHow, AppState } from '../app-state.ts';

interface AdmissionProps {
  readonly state: AppState;
  /** Nothing about how the files are read is left open. */
  readonly ready: boolean;
}

/** Takes the files in: alone, as a newer export, or with what is open. Asks before kept work is let go of. */
export function Admission({ state, ready }: AdmissionProps) {
  const asking = useSignal(false);
  const { records, amendments } = state.keeping.study.value;
  const isOpen = state.loaded.value?.isDemo === false;
  const changes = amendments.length;
  const admit = (how: AdmitHow): void => void state.admit(how);
  const button = (how: AdmitHow, words: string, kind = 'button') => (
    <button type="button" class={kind} disabled={!ready} onClick={() => admit(how)}>
      {words}
    </button>
  );
  if (!records) return button('in-place', 'Read the rows', 'button main');
  if (asking.value) {
    return (
      <span class="asked" role="alertdialog" aria-label="Let go of the records kept here?">
        <span>
          The records kept in this browser ({recordsWords(records.files.length, changes)}) are let go of.
        </span>
        {button('in-place', 'Read the rows and let go of those', 'button main')}
        <button type="button" class="button" onClick={() => void state.saveStudy()}>
          Save a study file of them first
        </button>
        <button
          type="button"
          class="button"
          onClick={() => {
            asking.value = false;
          }}
        >
          Not yet
        </button>
      </span>
    );
  }
  return (
    <>
      {isOpen &&
        changes > 0 &&
        button('newer', `Read as a newer export, with your ${changesWords(changes)}`, 'button main')}
      {changes > 0 || !isOpen ? (
        <button
          type="button"
          class="button"
          disabled={!ready}
          onClick={() => {
            asking.value = true;
          }}
        >
          Read the rows in place of what is kept
        </button>
      ) : (
        button('in-place', 'Read the rows in place of what is open', 'button main')
      )}
      {isOpen && button('together', 'Read the rows together with what is open')}
    </>
  );
}

function changesWords(n: number): string {
  return n === 1 ? '1 change' : `${n} changes`;
}

export function recordsWords(files: number, changes: number): string {
  const parts = [files === 1 ? '1 file' : files > 1 ? `${files} files` : 'a blank record'];
  if (changes > 0) parts.push(changesWords(changes));
  return parts.join(', ');
}
