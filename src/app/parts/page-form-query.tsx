import { useState } from 'preact/hooks';
import { builderColumns, type QueryCondition, querySql, type Relation } from '../../pages/query-builder.ts';
import {
  EntryForm,
  type EntryFormProps,
  namesOf,
  type Option,
  SelectField,
  TextField,
} from './page-form.tsx';

const TESTS: readonly Option[] = [
  { value: 'is', label: 'is' },
  { value: 'is not', label: 'is not' },
  { value: 'at least', label: 'is at least' },
  { value: 'at most', label: 'is at most' },
  { value: 'is recorded', label: 'is recorded' },
];

/** A question put to the records, by clicking or in SQL. */
export function QueryForm({ page, onInsert }: EntryFormProps) {
  const [ownSql, setOwnSql] = useState<string | null>(null);
  const [relation, setRelation] = useState<Relation>('foot_visit');
  const [first, setFirst] = useState('breed_type');
  const [second, setSecond] = useState('');
  const [measure, setMeasure] = useState('');
  const [conditions, setConditions] = useState<readonly QueryCondition[]>([]);
  const columns = builderColumns(relation);
  const options = columns.map(({ name, label }) => ({ value: name, label }));
  const none = (label: string): Option => ({ value: '', label });
  const choices = namesOf(page, 'choice').map((name) => `$${name}`);
  const plan = () =>
    querySql({
      relation,
      by: [...new Set([first, second].filter((name) => columns.some((column) => column.name === name)))],
      measure: columns.some(({ name }) => name === measure) ? measure : null,
      conditions,
    });
  const change = (at: number, change: Partial<QueryCondition>) =>
    setConditions(conditions.map((each, k) => (k === at ? { ...each, ...change } : each)));
  return (
    <EntryForm
      kind="query"
      suggested={[measure || 'count', first && 'by', first].filter(Boolean).join(' ')}
      make={() => ownSql ?? plan()}
      {...{ page, onInsert }}
    >
      {ownSql === null ? (
        <>
          <SelectField
            label="Look at"
            value={relation}
            options={[
              { value: 'foot_visit', label: 'visits, foot by foot' },
              { value: 'trim_cycle', label: 'trim cycles, foot by foot' },
            ]}
            onChange={(value) => setRelation(value as Relation)}
          />
          <SelectField
            label="Split by"
            value={first}
            options={[none('nothing'), ...options]}
            onChange={setFirst}
          />
          <SelectField
            label="and by"
            value={second}
            options={[none('nothing more'), ...options]}
            onChange={setSecond}
          />
          <SelectField
            label="Middle value of"
            value={measure}
            options={[
              none('nothing: count only'),
              ...columns.filter(({ numeric }) => numeric).map(({ name, label }) => ({ value: name, label })),
            ]}
            onChange={setMeasure}
          />
          {conditions.map((condition, at) => (
            <fieldset key={at} class="condition">
              <legend>Only rows where</legend>
              <SelectField
                label="Column"
                value={condition.column}
                options={options}
                onChange={(column) => change(at, { column })}
              />
              <SelectField
                label="Test"
                value={condition.test}
                options={TESTS}
                onChange={(test) => change(at, { test: test as QueryCondition['test'] })}
              />
              {condition.test !== 'is recorded' && (
                <>
                  {choices.length > 0 && (
                    <SelectField
                      label="Value from"
                      value={choices.includes(condition.value) ? condition.value : ''}
                      options={[
                        none('written here'),
                        ...choices.map((name) => ({ value: name, label: `the choice ${name.slice(1)}` })),
                      ]}
                      onChange={(value) => change(at, { value })}
                    />
                  )}
                  {!choices.includes(condition.value) && (
                    <TextField
                      label="Value"
                      value={condition.value}
                      onInput={(value) => change(at, { value })}
                    />
                  )}
                </>
              )}
              <button
                type="button"
                class="button"
                onClick={() => setConditions(conditions.filter((_, k) => k !== at))}
              >
                Leave out
              </button>
            </fieldset>
          ))}
          <p class="actions">
            <button
              type="button"
              class="button"
              onClick={() =>
                setConditions([...conditions, { column: options[0]!.value, test: 'is', value: '' }])
              }
            >
              Narrow the rows
            </button>
            <button type="button" class="button" onClick={() => setOwnSql(safely(plan))}>
              Write it in SQL instead
            </button>
          </p>
        </>
      ) : (
        <>
          <TextField label="One SELECT in SQL" value={ownSql} onInput={setOwnSql} lines={8} />
          <button type="button" class="button" onClick={() => setOwnSql(null)}>
            Back to choosing
          </button>
        </>
      )}
    </EntryForm>
  );
}

function safely(plan: () => string): string {
  try {
    return plan();
  } catch {
    return 'SELECT count(*) AS n FROM foot_visit';
  }
}
