import { useSignal } from '@preact/signals';
import { useCallback, useMemo } from 'preact/hooks';
import type { DerivedColumn, ExpressionFault } from '../../sheet/derived-column.ts';
import { DERIVED_EXAMPLES, nameFromLabel } from '../derived-examples.ts';
import type { PanelProps } from './panel-props.ts';
import { SidePanel } from './sheet-panel.tsx';
import { SqlField } from './sql-field.tsx';

interface Draft {
  /** The name it had; null for a new one. */
  readonly was: string | null;
  readonly label: string;
  readonly unit: string;
  readonly digits: string;
  readonly on: DerivedColumn['on'];
  readonly expression: string;
}

const BLANK: Draft = { was: null, label: '', unit: '', digits: '', on: 'foot_visit', expression: '' };

function columnOfDraft({ was, label, unit, digits, on, expression }: Draft): DerivedColumn {
  return {
    name: was ?? nameFromLabel(label),
    label: label.trim(),
    expression: expression.trim(),
    on,
    ...(unit.trim() === '' ? {} : { unit: unit.trim() }),
    ...(/^\d$/.test(digits.trim()) ? { digits: Number(digits) } : {}),
  };
}

/** Columns worked out from others: named once, then usable wherever a column is. */
export function DerivedPanel({ state, model, herd, open }: PanelProps) {
  const draft = useSignal<Draft | null>(null);
  const derived = state.keeping.derived.value;
  const save = async (columns: readonly DerivedColumn[], said: string) => {
    if (!(await state.setDerived(columns))) return;
    draft.value = null;
    model.outcome.value = { text: said, faults: [] };
  };
  return (
    <SidePanel title="Derived columns" testid="derived-panel" onClose={() => open(null)}>
      <p class="lead">
        A derived column is worked out from the others in each row, such as the toe divided by the heel. It
        stands in the sheet, and can be used on pages, in cohorts and in charts like any other.
      </p>
      {derived.length > 0 && (
        <ul class="derived-list">
          {derived.map((column) => (
            <li key={column.name}>
              <strong>{column.label}</strong> <code>{column.name}</code> = <code>{column.expression}</code>{' '}
              <button
                type="button"
                class="button small"
                onClick={() => {
                  draft.value = {
                    ...BLANK,
                    ...column,
                    was: column.name,
                    unit: column.unit ?? '',
                    digits: column.digits?.toString() ?? '',
                  };
                }}
              >
                Change
              </button>{' '}
              <button
                type="button"
                class="button small"
                onClick={() =>
                  void save(
                    derived.filter(({ name }) => name !== column.name),
                    `${column.label} was taken away.`,
                  )
                }
              >
                Take away
              </button>
            </li>
          ))}
        </ul>
      )}
      {draft.value ? (
        <DerivedForm
          key={draft.value.was ?? ''}
          draft={draft.value}
          taken={new Set(model.columns.value.map(({ name }) => name))}
          {...{ model, herd }}
          onDraft={(next) => {
            draft.value = next;
          }}
          onSave={(column) =>
            save(
              [...derived.filter(({ name }) => name !== column.name), column],
              `${column.label} can be used as ${column.name}.`,
            )
          }
        />
      ) : (
        <>
          <p class="actions">
            <button
              type="button"
              class="button main"
              onClick={() => {
                draft.value = BLANK;
              }}
            >
              New derived column
            </button>
          </p>
          <h3>Or begin with one of these</h3>
          <ul class="derived-list">
            {DERIVED_EXAMPLES.map(({ says, ...column }) => (
              <li key={column.name}>
                <button
                  type="button"
                  class="button small"
                  onClick={() => {
                    draft.value = {
                      ...BLANK,
                      ...column,
                      was: null,
                      unit: column.unit ?? '',
                      digits: column.digits?.toString() ?? '',
                    };
                  }}
                >
                  {column.label}
                </button>{' '}
                {says}
              </li>
            ))}
          </ul>
        </>
      )}
    </SidePanel>
  );
}

interface DerivedFormProps extends Pick<PanelProps, 'model' | 'herd'> {
  readonly draft: Draft;
  readonly taken: ReadonlySet<string>;
  readonly onDraft: (draft: Draft | null) => void;
  readonly onSave: (column: DerivedColumn) => Promise<void>;
}

function DerivedForm({ draft, taken, model, herd, onDraft, onSave }: DerivedFormProps) {
  const fault = useSignal<ExpressionFault | null | undefined>(undefined);
  const column = columnOfDraft(draft);
  const set = (part: Partial<Draft>) => onDraft({ ...draft, ...part });
  const names = useMemo(
    () =>
      model.columns.value.map(({ name, label, unit }) => ({
        label: name,
        detail: unit ? `${label}, ${unit}` : label,
      })),
    [model.columns.value],
  );
  // The name has no part in whether the expression can stand: one that is free in any case.
  const check = useCallback(
    (expression: string) =>
      herd.call('checkExpression', {
        name: draft.was ?? 'being_written',
        label: 'being written',
        expression,
        on: draft.on,
      }),
    [herd, draft.was, draft.on],
  );
  const nameProblem =
    column.name === ''
      ? 'it needs a name'
      : draft.was === null && taken.has(column.name)
        ? `there is a column called ${column.name} already`
        : null;
  return (
    <form
      class="derived-form"
      onSubmit={(event) => {
        event.preventDefault();
        if (nameProblem === null && fault.value === null) void onSave(column);
      }}
    >
      <div class="visit-fields">
        <label class="field">
          Name
          <input
            type="text"
            value={draft.label}
            required
            onInput={(event) => set({ label: event.currentTarget.value })}
          />
        </label>
        <label class="field">
          Unit <span class="soft">(if any)</span>
          <input
            type="text"
            value={draft.unit}
            onInput={(event) => set({ unit: event.currentTarget.value })}
          />
        </label>
        <label class="field">
          Digits after the point
          <input
            type="text"
            inputMode="numeric"
            pattern="[0-9]?"
            value={draft.digits}
            onInput={(event) => set({ digits: event.currentTarget.value })}
          />
        </label>
        <label class="field">
          One value for each
          <select
            value={draft.on}
            onChange={(event) => set({ on: event.currentTarget.value as DerivedColumn['on'] })}
          >
            <option value="foot_visit">foot at a visit</option>
            <option value="trim_cycle">stretch from one trim to the next</option>
          </select>
        </label>
      </div>
      <p class="soft">
        {column.name !== '' && nameProblem === null && (
          <>
            Elsewhere it goes by <code>{column.name}</code>.{' '}
          </>
        )}
        Write what it is made of, with the columns’ short names: + − * / and brackets, as in{' '}
        <code>toe_before_mm - toe_after_mm</code>. The language is SQL.
      </p>
      <SqlField
        label="What it is made of"
        text={draft.expression}
        onText={(expression) => set({ expression })}
        names={names}
        check={check}
        onChecked={(found) => {
          fault.value = found;
        }}
      />
      {nameProblem && draft.label !== '' && <p class="field-fault">{nameProblem}</p>}
      <p class="actions">
        <button
          type="submit"
          class="button main"
          disabled={nameProblem !== null || fault.value !== null || column.expression === ''}
        >
          {draft.was === null ? 'Add it' : 'Change it'}
        </button>
        <button type="button" class="button" onClick={() => onDraft(null)}>
          Leave it
        </button>
      </p>
    </form>
  );
}
