import { useSignal } from '@preact/signals';
import type { AppState } from '../app-state.ts';
import { cohortWords } from '../cohort.ts';
import { type Cohort, isEveryone } from '../cohort-choice.ts';

interface SavedCohortsProps {
  readonly state: AppState;
  readonly cohort: Cohort;
  readonly change: (cohort: Cohort) => void;
}

/** Cohorts kept by name. */
export function SavedCohorts({ state, cohort, change }: SavedCohortsProps) {
  const name = useSignal('');
  const saved = state.keeping.cohorts.value;
  return (
    <fieldset class="saved-cohorts">
      <legend>Saved cohorts</legend>
      {saved.length > 0 && (
        <ul>
          {saved.map((one) => (
            <li key={one.name}>
              <button
                type="button"
                class="button small"
                title={cohortWords(one.cohort)}
                onClick={() => change(one.cohort)}
              >
                {one.name}
              </button>
              <button
                type="button"
                class="button small"
                aria-label={`Forget ${one.name}`}
                onClick={() => void state.change((keeping) => keeping.removeCohort(one.name))}
              >
                ×
              </button>
            </li>
          ))}
        </ul>
      )}
      <form
        class="condition-form"
        onSubmit={(event) => {
          event.preventDefault();
          const given = name.value.trim();
          if (given === '' || isEveryone(cohort)) return;
          void state
            .change((keeping) => keeping.saveCohort({ name: given, cohort }))
            .then((isKept) => {
              if (isKept) name.value = '';
            });
        }}
      >
        <input
          type="text"
          aria-label="Name for this cohort"
          placeholder="heavy horses on soft ground"
          value={name.value}
          onInput={(event) => {
            name.value = event.currentTarget.value;
          }}
        />
        <button type="submit" class="button" disabled={isEveryone(cohort) || name.value.trim() === ''}>
          {saved.some((one) => one.name === name.value.trim()) ? 'Save in its place' : 'Save this one'}
        </button>
      </form>
    </fieldset>
  );
}
