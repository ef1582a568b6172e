import { EngineLost } from '../../core/engine-lost.ts';
import type { AppState } from '../app-state.ts';

/** Says that what computes does so no longer, and offers to start it anew; nothing when all is well. */
export function EngineNotice({ state }: { readonly state: AppState }) {
  const health = state.health.value;
  if (health === 'well') return null;
  return (
    <p
      class={health === 'lost' ? 'keeping-notice not-kept' : 'keeping-notice'}
      role={health === 'lost' ? 'alert' : 'status'}
      data-testid="engine-notice"
    >
      <span>{health === 'lost' ? lostWords(state) : SILENT}</span>
      <button type="button" class="button main" onClick={() => void state.restartEngine()}>
        Start it again
      </button>
    </p>
  );
}

/** What else went wrong: the notice says already that the engine is lost. */
export function otherTrouble({ health, trouble }: AppState): string | null {
  const told = trouble.value;
  return health.value === 'lost' && told?.startsWith(new EngineLost().message) ? null : told;
}

const SILENT =
  'The engine that works out answers is still busy with something that was stopped. You can wait for it, or start it again: your records are then read anew.';

/** What is safe and what is not: only that is written down which the store has confirmed. */
function lostWords({ keeping, loaded, editing }: AppState): string {
  const stopped =
    'The engine that works out answers has stopped. Until it is started again, nothing is worked out.';
  if (loaded.value?.isDemo) {
    const n = editing.log.value.length;
    return n === 0 ? stopped : `${stopped} Changes to the demo herd stand in this tab and are made again.`;
  }
  return keeping.unkept.value.length > 0
    ? `${stopped} What was not kept stands in this tab and is made again.`
    : `${stopped} Your records and every change that was confirmed are kept.`;
}
