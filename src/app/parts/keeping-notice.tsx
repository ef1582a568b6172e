import type { AppState } from '../app-state.ts';
import type { Unkept } from '../keeping.ts';
import { NotKept } from '../store/kept.ts';

/** What the user must know about the keeping of their work; nothing when all is well. */
export function KeepingNotice({ state }: { readonly state: AppState }) {
  const { keeping } = state;
  const unkept = keeping.unkept.value;
  const isDemo = state.loaded.value?.isDemo ?? false;
  if (unkept.length > 0) return <NotKeptNotice state={state} unkept={unkept} />;
  const why = keeping.nowhere.value;
  if (why && why.reason !== 'no-storage') {
    return (
      <p class="keeping-notice not-kept" role="alert" data-testid="keeping-notice">
        <span>{why.message}</span>
      </p>
    );
  }
  if (keeping.place.value === 'elsewhere' && !isDemo) {
    return (
      <p class="keeping-notice" role="status" data-testid="keeping-notice">
        <span>
          Your records are open in another tab.{' '}
          {keeping.outdated.value
            ? 'They have been changed there since they were read here.'
            : 'Here you can look and compute, but not change anything.'}
        </span>
        {keeping.outdated.value && (
          <button type="button" class="button" onClick={() => void state.change(() => keeping.refresh())}>
            Read the changes
          </button>
        )}
        <button type="button" class="button" onClick={() => void state.change(() => keeping.takeOver())}>
          Change things here instead
        </button>
      </p>
    );
  }
  if (isDemo && state.editing.log.value.length > 0) {
    return (
      <p class="keeping-notice" role="status" data-testid="keeping-notice">
        <span>Changes to the demo herd last as long as this tab. Only your own records are kept.</span>
      </p>
    );
  }
  return null;
}

function NotKeptNotice({ state, unkept }: { readonly state: AppState; readonly unkept: readonly Unkept[] }) {
  const { keeping } = state;
  return (
    <p class="keeping-notice not-kept" role="alert" data-testid="keeping-notice">
      <span>
        Not kept: {unkept.map(({ what }) => what).join('; ')}.{' '}
        {new NotKept(unkept[0]?.reason ?? 'failed').message} They stand in this tab until it is closed: save a
        study file to have them for good.
      </span>
      <button type="button" class="button main" onClick={() => void state.saveStudy()}>
        Save a study file
      </button>
      {keeping.place.value === 'here' && (
        <button type="button" class="button" onClick={() => void state.change(() => keeping.retry())}>
          Try again to keep them
        </button>
      )}
    </p>
  );
}
