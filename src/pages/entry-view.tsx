import type { Behind } from '../analyses/analysis.ts';
import { formatNumber } from '../core/format-value.ts';
import { AnalysisNotes } from './analysis-notes.tsx';
import { ChartFigure } from './chart-figure.tsx';
import { ChoiceControl } from './choice-control.tsx';
import { EntryBoundary } from './entry-boundary.tsx';
import type { EntryState } from './entry-state.ts';
import { FindingsList } from './findings-list.tsx';
import type { Entry } from './page.ts';
import { QuestionEntry, SamplesEntry } from './question-entry.tsx';
import { ResultTable } from './result-table.tsx';
import type { PageRuntime } from './runtime.ts';

interface ViewProps {
  readonly entry: Entry;
  readonly state: EntryState;
  readonly runtime: PageRuntime;
  /** Whose figures these are, where two cohorts stand side by side. */
  readonly cohort?: string | undefined;
  onOpenRows(behind: Behind): void;
}

function QueryNotes({ entry, state }: ViewProps) {
  const rows = state.result?.kind === 'query' ? state.result.table.rowCount : null;
  return (
    <details class="query-notes">
      <summary>
        The query <code>{entry.name}</code>
        {rows !== null && ` (${formatNumber(rows)} ${rows === 1 ? 'row' : 'rows'})`}
      </summary>
      {state.result?.kind === 'query' && state.result.unanswered && (
        <p class="nothing">{state.result.unanswered}</p>
      )}
      <pre>
        <code>{entry.source.trimEnd()}</code>
      </pre>
    </details>
  );
}

/** What an entry shows once it has a result; a choice and a query show themselves before. */
function Content(props: ViewProps) {
  const { entry, state, runtime, cohort, onOpenRows } = props;
  const { result } = state;
  switch (entry.kind) {
    case 'choice':
      return (
        <ChoiceControl
          entry={entry}
          state={state}
          onChoose={(value) => runtime.setChoice(entry.name, value)}
        />
      );
    case 'query':
      return <QueryNotes {...props} />;
    case 'column':
      return (
        <p class="nothing column-note">
          The derived column <code>{entry.name}</code>: {entry.body.label ?? entry.body.expression}
        </p>
      );
    case 'analysis':
      return result?.kind === 'analysis' ? (
        <AnalysisNotes analysis={result.analysis} title={entry.body.title} />
      ) : null;
    case 'findings':
      return result?.kind === 'findings' ? (
        <FindingsList analysis={result.analysis} limit={entry.body.limit} onOpenRows={onOpenRows} />
      ) : null;
    case 'chart':
      return result?.kind === 'data' ? (
        <ChartFigure
          name={entry.name}
          cohort={cohort}
          spec={entry.body}
          views={result.views}
          onOpenRows={onOpenRows}
        />
      ) : null;
    case 'question':
      return result?.kind === 'question' ? <QuestionEntry entry={entry} result={result} /> : null;
    case 'samples':
      return result?.kind === 'samples' ? <SamplesEntry entry={entry} result={result} /> : null;
    case 'table': {
      const view = result?.kind === 'data' ? result.views[entry.body.of] : undefined;
      const { of, columns, sort, limit } = entry.body;
      const words = entry.body.caption ?? view?.title;
      const caption = cohort ? `${words} (${cohort})` : words;
      return view ? <ResultTable {...{ name: of, view, columns, sort, limit, caption, onOpenRows }} /> : null;
    }
  }
}

const WHAT: Readonly<Record<Entry['kind'], string>> = {
  query: 'This query',
  column: 'This column',
  choice: 'This choice',
  analysis: 'This analysis',
  findings: 'What was found',
  chart: 'This chart',
  table: 'This table',
  question: 'This question',
  samples: 'This choice of herds',
};

function Status({ entry, state, runtime }: ViewProps) {
  const { status, progress, message } = state;
  const retry = (word: string) => (
    <button type="button" class="small" onClick={() => runtime.retry(entry.name)}>
      {word}
    </button>
  );
  switch (status) {
    case 'running':
      return (
        <div class="entry-status is-running">
          <progress
            aria-label={`Working out ${entry.name}`}
            {...(progress === null ? {} : { value: progress, max: 1 })}
          />
          <span>{message ?? 'Working it out…'}</span>
          <button type="button" class="small" onClick={() => runtime.cancel(entry.name)}>
            Cancel
          </button>
        </div>
      );
    case 'waiting':
      return state.result ? null : (
        <div class="entry-status is-waiting">{entry.kind === 'choice' ? '' : 'Waiting for its turn…'}</div>
      );
    case 'failed':
      return (
        <div class="entry-status is-failed" role="alert">
          <span>
            {WHAT[entry.kind]} could not be worked out (<code>{entry.name}</code>, line {entry.line}):{' '}
            {message}
          </span>
          {retry('Try again')}
        </div>
      );
    case 'blocked':
      return (
        <div class="entry-status is-blocked">
          {WHAT[entry.kind]} needs <code>{message}</code>, which is not there.
        </div>
      );
    case 'cancelled':
      return (
        <div class="entry-status is-blocked">
          <span>Stopped before it was worked out.</span>
          {retry('Work it out')}
        </div>
      );
    case 'done':
      return null;
  }
}

/** One entry: what it shows, and how it stands with its computation. */
export function EntryView({
  entry,
  runtime,
  cohort,
  onOpenRows,
}: Pick<ViewProps, 'entry' | 'runtime' | 'cohort' | 'onOpenRows'>) {
  const state = runtime.state(entry.name).value;
  const props = { entry, state, runtime, cohort, onOpenRows };
  const busy = state.status === 'running' || state.status === 'waiting';
  return (
    <section
      class={`entry is-${entry.kind}`}
      data-entry={entry.name}
      data-kind={entry.kind}
      data-status={state.status}
      data-draft={state.isDraft}
      data-runs={state.runs}
      aria-busy={busy}
    >
      <EntryBoundary name={entry.name} line={entry.line} result={state.result}>
        <Content {...props} />
      </EntryBoundary>
      <Status {...props} />
    </section>
  );
}
