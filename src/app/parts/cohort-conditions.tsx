import { useSignal } from '@preact/signals';
import { useCallback, useEffect } from 'preact/hooks';
import { PROBLEMS, type ProblemKey } from '../../herd/problems.ts';
import type { ExpressionFault } from '../../sheet/derived-column.ts';
import type { AppState } from '../app-state.ts';
import { cohortWhere } from '../cohort.ts';
import type { Cohort } from '../cohort-choice.ts';
import { conditionWords, historyWords, type ProblemHistory, WHEN_WORDS } from '../cohort-condition.ts';
import type { SheetColumn } from '../sheet-service.ts';
import { FilterForm } from './filter-form.tsx';
import { SqlField } from './sql-field.tsx';

interface ConditionsProps {
  readonly state: AppState;
  readonly cohort: Cohort;
  readonly change: (cohort: Cohort) => void;
}

/** What no list of levels can say: any column, what a foot has had before, and for those who want it SQL. */
export function CohortConditions({ state, cohort, change }: ConditionsProps) {
  const { herd } = state;
  const columns = useSignal<readonly SheetColumn[]>([]);
  const version = state.cohortVersion.value;
  useEffect(() => {
    let isGone = false;
    herd.call('sheetColumns', null).then(
      (found) => {
        if (!isGone) columns.value = found;
      },
      () => undefined,
    );
    return () => {
      isGone = true;
    };
  }, [herd, version]);
  return (
    <>
      <AnyColumn columns={columns.value} cohort={cohort} change={change} />
      <History cohort={cohort} change={change} />
      <Chips cohort={cohort} change={change} />
      <SqlCondition herd={herd} columns={columns.value} cohort={cohort} change={change} />
    </>
  );
}

type PartProps = Omit<ConditionsProps, 'state'>;

function AnyColumn({ columns, cohort, change }: PartProps & { readonly columns: readonly SheetColumn[] }) {
  const chosen = useSignal('');
  const fault = useSignal<string | null>(null);
  const column = columns.find(({ name }) => name === chosen.value);
  return (
    <fieldset>
      <legend>Any column</legend>
      <div class="condition-form">
        <select
          aria-label="Column"
          value={chosen.value}
          onChange={(event) => {
            chosen.value = event.currentTarget.value;
            fault.value = null;
          }}
        >
          <option value="">choose a column</option>
          {columns.map(({ name, label }) => (
            <option key={name} value={name}>
              {label}
            </option>
          ))}
        </select>
        {column && (
          <FilterForm
            key={column.name}
            column={column}
            action="Narrow"
            onFilter={(filter) => {
              const condition = { ...filter, label: column.label, kind: column.kind };
              const next = { ...cohort, conditions: [...(cohort.conditions ?? []), condition] };
              try {
                cohortWhere(next);
              } catch (error) {
                fault.value = (error as Error).message;
                return;
              }
              fault.value = null;
              change(next);
            }}
          />
        )}
      </div>
      {fault.value && (
        <p class="field-fault" role="alert">
          {fault.value}
        </p>
      )}
    </fieldset>
  );
}

function History({ cohort, change }: PartProps) {
  const problem = useSignal<ProblemKey>('separation');
  const when = useSignal<ProblemHistory['when']>('before');
  return (
    <fieldset>
      <legend>What the foot has had</legend>
      <form
        class="condition-form"
        onSubmit={(event) => {
          event.preventDefault();
          const history = { problem: problem.value, when: when.value };
          change({ ...cohort, histories: [...(cohort.histories ?? []), history] });
        }}
      >
        <select
          aria-label="Problem"
          value={problem.value}
          onChange={(event) => {
            problem.value = event.currentTarget.value as ProblemKey;
          }}
        >
          {PROBLEMS.map(({ key, label }) => (
            <option key={key} value={key}>
              {label}
            </option>
          ))}
        </select>
        <select
          aria-label="When"
          value={when.value}
          onChange={(event) => {
            when.value = event.currentTarget.value as ProblemHistory['when'];
          }}
        >
          {(Object.keys(WHEN_WORDS) as ProblemHistory['when'][]).map((one) => (
            <option key={one} value={one}>
              {WHEN_WORDS[one]}
            </option>
          ))}
        </select>
        <button type="submit" class="button">
          Narrow
        </button>
      </form>
    </fieldset>
  );
}

function Chips({ cohort, change }: PartProps) {
  const { conditions = [], histories = [] } = cohort;
  const chips = [
    ...conditions.map((one, at) => ({
      words: conditionWords(one),
      without: (): Cohort => ({ ...cohort, conditions: conditions.filter((_, k) => k !== at) }),
    })),
    ...histories.map((one, at) => ({
      words: historyWords(one),
      without: (): Cohort => ({ ...cohort, histories: histories.filter((_, k) => k !== at) }),
    })),
  ];
  if (chips.length === 0) return null;
  return (
    <ul class="filter-chips" aria-label="Conditions">
      {chips.map(({ words, without }) => (
        <li key={words}>
          <span>{words}</span>
          <button
            type="button"
            class="button"
            aria-label={`Take away: ${words}`}
            onClick={() => change(without())}
          >
            ×
          </button>
        </li>
      ))}
    </ul>
  );
}

interface SqlProps extends PartProps {
  readonly herd: AppState['herd'];
  readonly columns: readonly SheetColumn[];
}

function SqlCondition({ herd, columns, cohort, change }: SqlProps) {
  const isOpen = useSignal((cohort.sql ?? '') !== '');
  const text = useSignal(cohort.sql ?? '');
  const fault = useSignal<ExpressionFault | null | undefined>(undefined);
  const check = useCallback(
    async (expression: string): Promise<ExpressionFault | null> =>
      expression.trim() === ''
        ? null
        : herd.call('checkExpression', {
            name: 'condition_being_written',
            label: 'condition',
            expression,
            on: 'foot_visit',
          }),
    [herd],
  );
  if (!isOpen.value) {
    return (
      <p class="cohort-sql">
        <button
          type="button"
          class="button small"
          onClick={() => {
            isOpen.value = true;
          }}
        >
          Write a condition in SQL
        </button>
      </p>
    );
  }
  return (
    <fieldset class="cohort-sql">
      <legend>Condition in SQL, over the columns of a visit</legend>
      <SqlField
        label="Condition in SQL"
        text={text.value}
        onText={(next) => {
          text.value = next;
        }}
        names={columns.map(({ name, label }) => ({ label: name, detail: label }))}
        check={check}
        onChecked={(found) => {
          fault.value = found;
        }}
      />
      <p class="soft">
        For instance <code>toe_before_mm &gt; 90 AND terrain = 'soft'</code>
      </p>
      <p class="actions">
        <button
          type="button"
          class="button"
          disabled={fault.value !== null}
          onClick={() => {
            const { sql: _, ...rest } = cohort;
            change(text.value.trim() === '' ? rest : { ...cohort, sql: text.value.trim() });
          }}
        >
          Narrow
        </button>
      </p>
    </fieldset>
  );
}
