import type { AppState } from '../app-state.ts';
import type { Study } from '../store/kept.ts';
import { recordsWords } from './admission.tsx';

interface StudyQuestionProps {
  readonly state: AppState;
  readonly file: string;
  readonly study: Study;
}

/** A study file was opened and something is kept already: only one of them can be. */
export function StudyQuestion({ state, file, study }: StudyQuestionProps) {
  return (
    <section class="sheet" aria-label="Open a study" data-testid="study-question">
      <h1>Open this study?</h1>
      <p class="lead">
        {file} holds {studyWords(study)}. It takes the place of what is kept in this browser:{' '}
        {studyWords(state.keeping.study.value)}.
      </p>
      <p class="actions">
        <button type="button" class="button main" onClick={() => void state.openStudy(study)}>
          Open it in place of what is kept
        </button>
        <button type="button" class="button" onClick={() => void state.saveStudy()}>
          Save what is kept as a study file first
        </button>
        <button
          type="button"
          class="button"
          onClick={() => {
            state.sheet.value = { kind: 'none' };
          }}
        >
          Leave it
        </button>
      </p>
    </section>
  );
}

/** `2 files, 14 changes, 1 page`. */
export function studyWords({ records, amendments, pages, cohorts, derived }: Study): string {
  const parts = records ? [recordsWords(records.files.length, amendments.length)] : [];
  const count = (n: number, one: string, many: string): void => {
    if (n > 0) parts.push(`${n} ${n === 1 ? one : many}`);
  };
  count(pages.length, 'page', 'pages');
  count(cohorts.length, 'saved cohort', 'saved cohorts');
  count(derived.length, 'derived column', 'derived columns');
  return parts.join(', ') || 'nothing';
}
