import type { AppState } from '../app-state.ts';
import { DEMO } from '../samples.ts';

/** What this is and whose horses these are, for someone who has opened nothing yet. */
export function Welcome({ state }: { readonly state: AppState }) {
  const loaded = state.loaded.value;
  if (loaded?.sample !== DEMO || state.keeping.study.value.records) return null;
  return (
    <p class="welcome" data-testid="welcome">
      Growout answers from your hoof-care visit records: who needs attention, how fast feet grow, how soon
      problems come back. <strong>This is an invented herd.</strong> Open your own records (CSV or Parquet)
      above, or drop them here: nothing leaves this machine.
    </p>
  );
}
