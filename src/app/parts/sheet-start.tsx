import type { AppState } from '../app-state.ts';
import { saveFile } from '../save-file.ts';
import { HemisphereChoice } from './hemisphere-choice.tsx';
import type { PanelProps } from './panel-props.ts';
import { SidePanel } from './sheet-panel.tsx';

/** For somebody without any records: a blank record here, or an empty file to fill in elsewhere. */
export function StartFromNothing({ state, open }: PanelProps) {
  return (
    <SidePanel title="Start from nothing" testid="start-panel" onClose={() => open(null)}>
      <StartChoices state={state} onStarted={() => open({ kind: 'add' })} />
    </SidePanel>
  );
}

interface StartChoicesProps {
  readonly state: AppState;
  readonly onStarted: () => void;
}

function StartChoices({ state, onStarted }: StartChoicesProps) {
  return (
    <>
      <p class="lead">
        No records yet? Write the first visit here, straight after the trim, or fill in an empty table with
        any spreadsheet and open it later.
      </p>
      <HemisphereChoice
        state={state}
        legend="Where the horses live, for the seasons"
        name="blank-hemisphere"
      />
      <p class="actions">
        <button
          type="button"
          class="button main"
          onClick={() =>
            void state.startBlank().then(() => {
              if (state.trouble.value === null && state.loaded.value?.isDemo === false) onStarted();
            })
          }
        >
          Begin a blank record
        </button>
        <button type="button" class="button" onClick={() => void saveTemplate()}>
          Save an empty table (CSV)
        </button>
      </p>
    </>
  );
}

async function saveTemplate(): Promise<void> {
  const { emptyTemplate } = await import('../../intake/template.ts');
  saveFile('visits.csv', emptyTemplate(), 'text/csv');
}
