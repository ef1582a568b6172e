import './cohort-bar.css';
import { useSignal } from '@preact/signals';
import { countsText } from '../../analyses/format.ts';
import type { HerdCounts } from '../../analyses/load-herd.ts';
import { dayFromIso, isoFromDay, longDate } from '../../core/civil-day.ts';
import type { AppState } from '../app-state.ts';
import { cohortWords } from '../cohort.ts';
import { COHORT_COLUMNS, type Cohort, type CohortColumn, EVERYONE, isEveryone } from '../cohort-choice.ts';
import type { Level } from '../herd-service.ts';
import { CohortConditions } from './cohort-conditions.tsx';
import { SavedCohorts } from './saved-cohorts.tsx';

const whole = new Intl.NumberFormat('en-GB');

/** `18 of 120 horses, 72 feet, 1,640 trim cycles, 31 of them odd and left out.` */
function seenWords(seen: HerdCounts, horses: number): string {
  const odd = seen.flaggedCycles > 0 ? `, ${whole.format(seen.flaggedCycles)} of them odd and left out` : '';
  return `${whole.format(seen.horses)} of ${countsText({ ...seen, horses })}${odd}.`;
}

/** Narrows every entry of the page to part of the herd; n is shown as it changes. */
export function CohortBar({ state }: { readonly state: AppState }) {
  const loaded = state.loaded.value;
  const seen = state.cohortCounts.value;
  const open = useSignal(false);
  if (!loaded) return null;
  const cohort = state.cohort.value;
  const { counts, levels } = loaded.summary;
  const change = (next: Cohort): void => void state.setCohort(next);
  return (
    <section class="cohort" aria-label="Which part of the herd">
      <p class="cohort-line" aria-live="polite">
        <button
          type="button"
          class="button"
          aria-expanded={open.value}
          onClick={() => {
            open.value = !open.value;
          }}
        >
          Narrow the herd
        </button>
        <span data-testid="cohort">
          Looking at <strong>{cohortWords(cohort)}</strong>:{' '}
          {seen ? seenWords(seen, counts.horses) : 'counting…'}
        </span>
        {!isEveryone(cohort) && (
          <button type="button" class="button" onClick={() => change(EVERYONE)}>
            Whole herd
          </button>
        )}
      </p>
      <p class="soft cohort-day">
        A trim cycle is one foot from a trim to its next visit
        {(seen ?? counts).flaggedCycles > 0 && '; odd ones are too short, too long, or shrank'}. Days count
        from {longDate(loaded.asOf)}.
      </p>
      {open.value && (
        <div class="cohort-choices">
          {(Object.keys(COHORT_COLUMNS) as CohortColumn[])
            .filter((column) => levels[column].length > 1)
            .map((column) => (
              <LevelChoice
                key={column}
                column={column}
                levels={levels[column]}
                cohort={cohort}
                change={change}
              />
            ))}
          <fieldset>
            <legend>Dates of visits</legend>
            <DateChoice label="From" day={cohort.from} change={(from) => change({ ...cohort, from })} />
            <DateChoice label="To" day={cohort.to} change={(to) => change({ ...cohort, to })} />
          </fieldset>
          <CohortConditions key={cohort.sql ?? ''} state={state} cohort={cohort} change={change} />
          <SavedCohorts state={state} cohort={cohort} change={change} />
        </div>
      )}
    </section>
  );
}

interface LevelChoiceProps {
  readonly column: CohortColumn;
  readonly levels: readonly Level[];
  readonly cohort: Cohort;
  readonly change: (cohort: Cohort) => void;
}

function LevelChoice({ column, levels, cohort, change }: LevelChoiceProps) {
  const chosen = cohort.levels[column] ?? [];
  return (
    <fieldset>
      <legend>{COHORT_COLUMNS[column]}</legend>
      <div class="cohort-levels">
        {levels.map(({ value, horses }) => (
          <label key={value}>
            <input
              type="checkbox"
              checked={chosen.includes(value)}
              onChange={(event) => {
                const values = event.currentTarget.checked
                  ? [...chosen, value]
                  : chosen.filter((other) => other !== value);
                change({ ...cohort, levels: { ...cohort.levels, [column]: values } });
              }}
            />
            {value} <span class="soft">{whole.format(horses)}</span>
          </label>
        ))}
      </div>
    </fieldset>
  );
}

interface DateChoiceProps {
  readonly label: string;
  readonly day: number | null;
  readonly change: (day: number | null) => void;
}

function DateChoice({ label, day, change }: DateChoiceProps) {
  return (
    <label class="date-choice">
      {label}
      <input
        type="date"
        value={day === null ? '' : isoFromDay(day)}
        onChange={(event) => change(dayFromIso(event.currentTarget.value))}
      />
    </label>
  );
}
