import { counted, horsesText } from '../../analyses/format.ts';
import { longDate } from '../../core/civil-day.ts';
import type { AppState } from '../app-state.ts';
import { DEMO } from '../samples.ts';
import { ChooseFiles } from './choose-files.tsx';
import { LengthsChoice } from './lengths-choice.tsx';

/** Name, what is loaded, and the way to open records. */
export function Masthead({ state }: { readonly state: AppState }) {
  const loaded = state.loaded.value;
  const counts = loaded?.summary.counts;
  const files = loaded?.books.map((book) => book.file).join(', ');
  return (
    <header class="masthead">
      <p class="wordmark">Growout</p>
      <p class="loaded" data-testid="loaded">
        {counts ? (
          <>
            <strong>{state.sampleTitle() ?? (files || 'Your own record')}</strong> {horsesText(counts.horses)}
            , {counted(counts.visits, 'visit', 'visits')}
            {counts.visits > 0 && `, ${longDate(counts.firstDay)} to ${longDate(counts.lastDay)}`}
          </>
        ) : (
          'No records open'
        )}
      </p>
      <div class="masthead-actions">
        <ChooseFiles
          state={state}
          label="Open visit records"
          accept=".csv,.tsv,.txt,.parquet,.growout"
          isMain
          isMany
        />
        {loaded && (
          <button
            type="button"
            class="button"
            onClick={() => {
              state.sheet.value = { kind: 'records' };
            }}
          >
            Rows read and set aside
          </button>
        )}
        {loaded?.isDemo !== false && state.keeping.study.value.records && (
          <button type="button" class="button" onClick={() => void state.openKept()}>
            Back to your records
          </button>
        )}
        {(loaded?.isDemo !== true || loaded.sample !== DEMO) && (
          <button type="button" class="button" onClick={() => void state.openDemo()}>
            {loaded ? 'Back to the demo herd' : 'Open the demo herd instead'}
          </button>
        )}
        <LengthsChoice state={state} />
      </div>
    </header>
  );
}
