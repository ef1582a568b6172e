import { useSignal } from '@preact/signals';
import { TABLE_FORMATS, type TableFormat } from '../../pages/take-away.ts';
import { TakeAwayButtons } from '../../pages/take-away-buttons.tsx';
import { cohortWords } from '../cohort.ts';
import { isEveryone } from '../cohort-choice.ts';
import { filterWords } from '../filter-words.ts';
import { isAsRecorded, seenTable } from '../sheet-as-seen.ts';
import { saveTable } from '../take-away.ts';
import type { PanelProps, SheetPanel } from './panel-props.ts';
import { step } from './sheet-step.ts';

const whole = new Intl.NumberFormat('en-GB');

const PANELS = [
  ['add', 'Add a visit'],
  ['strike', 'Strike rows'],
  ['columns', 'Columns'],
  ['derived', 'Derived columns'],
  ['history', 'Changes'],
] as const;

/** Of the cohort, as the pages see it: with what was changed here, in the columns of the record. */
const EVERY_ROW = { relation: 'foot_visit', where: 'TRUE', title: 'Records' } as const;

/** Title, n, what is filtered, and what can be done. */
export function SheetToolbar({
  state,
  model,
  open,
  panel,
}: PanelProps & { readonly panel: SheetPanel | null }) {
  const source = model.source.value;
  const { undo, redo } = state.editing.steps.value;
  const locked = state.editing.locked.value;
  const cohort = state.cohort.value;
  const changes = state.editing.log.value.length;
  const asRecorded = isAsRecorded(model);
  return (
    <header class="records-head">
      <h1>Records</h1>
      <p class="lead" aria-live="polite" data-testid="sheet-count">
        {source
          ? `${whole.format(source.rowCount)} ${source.rowCount === 1 ? 'row' : 'rows'}`
          : 'Fetching the rows…'}
        {source && ', one a foot at a visit'}
        {!isEveryone(cohort) &&
          (model.wholeHerd.value ? ', of the whole herd' : `, of ${cohortWords(cohort)}`)}
        .
      </p>
      {locked && <p class="warning">{locked}</p>}
      <p class="actions">
        {PANELS.map(([kind, words]) => (
          <button
            key={kind}
            type="button"
            class={kind === 'add' ? 'button main' : 'button'}
            aria-expanded={panel?.kind === kind}
            disabled={locked !== null && (kind === 'add' || kind === 'strike')}
            onClick={() => open(panel?.kind === kind ? null : { kind })}
          >
            {words}
            {kind === 'history' && changes > 0 && ` (${whole.format(changes)})`}
          </button>
        ))}
        <button
          type="button"
          class="button"
          disabled={!undo || locked !== null}
          onClick={() => void step(model, state.editing.undo, 'taken back')}
        >
          Undo
        </button>
        <button
          type="button"
          class="button"
          disabled={!redo || locked !== null}
          onClick={() => void step(model, state.editing.redo, 'made again')}
        >
          Redo
        </button>
        <button
          type="button"
          class="button"
          aria-expanded={panel?.kind === 'start'}
          onClick={() => open(panel?.kind === 'start' ? null : { kind: 'start' })}
        >
          Start from nothing
        </button>
      </p>
      <div class="records-line">
        <label class="quiet-field">
          Reason for changes <span class="soft">(if you like)</span>
          <input
            type="text"
            value={model.reason.value}
            onInput={(event) => {
              model.reason.value = event.currentTarget.value;
            }}
          />
        </label>
        <GoTo {...{ model }} />
        {source && source.rowCount > 0 && !asRecorded && (
          <TakeAwayButtons
            what="the sheet as seen"
            formats={TABLE_FORMATS}
            take={async (format) =>
              saveTable(state.herd, 'records-as-seen', {
                format: format as TableFormat,
                of: {
                  kind: 'table',
                  table: await seenTable(source, model.sort.value, model.shown.value.columns),
                },
              })
            }
          />
        )}
        {source && (source.rowCount > 0 || !asRecorded) && (
          <TakeAwayButtons
            what={
              isEveryone(cohort) ? (asRecorded ? 'these records' : 'all records') : 'what the pages look at'
            }
            formats={TABLE_FORMATS}
            take={(format) =>
              saveTable(state.herd, 'records', {
                format: format as TableFormat,
                of: { kind: 'rows', behind: EVERY_ROW },
              })
            }
          />
        )}
        {!isEveryone(cohort) && (
          <label class="tick">
            <input
              type="checkbox"
              checked={model.wholeHerd.value}
              onChange={(event) => {
                model.wholeHerd.value = event.currentTarget.checked;
              }}
            />
            Whole herd
          </label>
        )}
      </div>
      {model.filters.value.length > 0 && (
        <ul class="filter-chips" aria-label="Filters">
          {model.filters.value.map((filter, at) => (
            <li key={`${filter.column} ${filter.test} ${filter.value}`}>
              <span>{filterWords(filter, model.columns.value)}</span>
              <button
                type="button"
                class="button"
                aria-label={`Take the filter away: ${filterWords(filter, model.columns.value)}`}
                onClick={() => {
                  model.filters.value = model.filters.value.filter((_, k) => k !== at);
                }}
              >
                ×
              </button>
            </li>
          ))}
        </ul>
      )}
    </header>
  );
}

function GoTo({ model }: Pick<PanelProps, 'model'>) {
  const text = useSignal('');
  const rows = model.source.value?.rowCount ?? 0;
  return (
    <form
      class="quiet-field"
      onSubmit={(event) => {
        event.preventDefault();
        const row = Number(text.value.replaceAll(/[\s,.]/g, ''));
        if (Number.isInteger(row) && row >= 1 && row <= rows) model.goTo.value = { row: row - 1 };
        else {
          model.outcome.value = {
            text: `There is no row ${text.value.trim() || 'without a number'}: rows are counted from 1 to ${whole.format(rows)}.`,
            faults: [],
          };
        }
      }}
    >
      <label>
        Go to row
        <input
          type="text"
          inputMode="numeric"
          class="short"
          value={text.value}
          onInput={(event) => {
            text.value = event.currentTarget.value;
          }}
        />
      </label>
      <button type="submit" class="button">
        Go
      </button>
    </form>
  );
}
