import { useState } from 'preact/hooks';
import { type OptionField, optionFields } from '../../pages/analysis-fields.ts';
import { builderColumns, type QueryCondition, querySql, type Relation } from '../../pages/query-builder.ts';
import { commonRulesBody } from '../../pages/rules-example.ts';
import {
  CheckField,
  dataTables,
  EntryForm,
  type EntryFormProps,
  namesOf,
  type Option,
  SelectField,
  TextField,
} from './page-form.tsx';

/** A choice: a list, a number in a range, a date, or a decision table. */
export function ChoiceForm({ page, runtime, onInsert }: EntryFormProps) {
  const [label, setLabel] = useState('');
  const [kind, setKind] = useState('list');
  const [from, setFrom] = useState('');
  const [column, setColumn] = useState('');
  const [options, setOptions] = useState('');
  const [min, setMin] = useState('0');
  const [max, setMax] = useState('10');
  const [unit, setUnit] = useState('');
  const [day, setDay] = useState('');
  const tables = dataTables(page, runtime);
  const columns = tables.find(({ name }) => name === from)?.columns ?? [];
  const make = () => {
    if (label.trim() === '') throw new Error('Say in words what is chosen.');
    if (kind === 'range') return { kind, label, unit, min: number(min, 'From'), max: number(max, 'To') };
    if (kind === 'date') {
      if (day === '') throw new Error('Give the date that it starts with.');
      return { kind, label, default: day };
    }
    if (kind === 'rules') return commonRulesBody(label);
    if (from !== '')
      return { kind, label, options: { of: from, value: column || (columns[0]?.value ?? '') } };
    const listed = options.split('\n').flatMap((line) => (line.trim() === '' ? [] : [line.trim()]));
    if (listed.length === 0) throw new Error('Give what can be chosen, one a line.');
    return { kind, label, options: listed };
  };
  return (
    <EntryForm kind="choice" suggested={label || 'choice'} {...{ page, make, onInsert }}>
      <TextField label="What is chosen, in words" value={label} onInput={setLabel} />
      <SelectField
        label="How"
        value={kind}
        options={[
          { value: 'list', label: 'from a list' },
          { value: 'range', label: 'a number in a range' },
          { value: 'date', label: 'a date' },
          { value: 'rules', label: 'a decision table' },
        ]}
        onChange={setKind}
      />
      {kind === 'list' && (
        <>
          <SelectField
            label="The list is"
            value={from}
            options={[
              { value: '', label: 'written here' },
              ...tables.map(({ name }) => ({ value: name, label: `a column of ${name}` })),
            ]}
            onChange={setFrom}
          />
          {from === '' ? (
            <TextField
              label="What can be chosen, one a line"
              value={options}
              onInput={setOptions}
              lines={4}
            />
          ) : (
            <SelectField label="Column" value={column} options={columns} onChange={setColumn} />
          )}
        </>
      )}
      {kind === 'range' && (
        <>
          <TextField label="From" type="number" value={min} onInput={setMin} />
          <TextField label="To" type="number" value={max} onInput={setMax} />
          <TextField label="Unit" value={unit} onInput={setUnit} />
        </>
      )}
      {kind === 'date' && <TextField label="It starts with" type="date" value={day} onInput={setDay} />}
      {kind === 'rules' && (
        <p class="soft">
          It begins with the four conditions under which a sole is commonly left bare: draft, soft ground, 15
          mm of sole, not tender. Change its rows on the page.
        </p>
      )}
    </EntryForm>
  );
}

function number(text: string, label: string): number {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value)) throw new Error(`${label} must be a number.`);
  return value;
}

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

/** An analysis with its options, which come from its own schema. */
export function AnalysisForm({ page, analyses, onInsert }: EntryFormProps) {
  const [asked, setUse] = useState('');
  const [changed, setChanged] = useState<Readonly<Record<string, unknown>>>({});
  const [withFindings, setWithFindings] = useState(true);
  const analysis = analyses.find(({ name }) => name === asked) ?? analyses[0];
  if (!analysis) return <p class="soft">The analyses are being looked up…</p>;
  const use = analysis.name;
  const choices = namesOf(page, 'choice');
  const make = () => {
    const given = Object.entries(changed).filter(([, value]) => value !== undefined);
    return { use, ...Object.fromEntries(given) };
  };
  return (
    <EntryForm
      kind="analysis"
      suggested={use}
      {...{ page, make }}
      onInsert={(block) => {
        const name = /^`+analysis (\S+)/.exec(block)?.[1] ?? '';
        onInsert(withFindings ? `${block}\n\`\`\`findings ${name}_found\n${name}\n\`\`\`\n` : block);
      }}
    >
      <SelectField
        label="Question"
        value={use}
        options={analyses.map(({ name, question }) => ({ value: name, label: question }))}
        onChange={(value) => {
          setUse(value);
          setChanged({});
        }}
      />
      {optionFields(analysis).map((field) => (
        <OptionInput
          key={`${use} ${field.name}`}
          field={field}
          value={changed[field.name]}
          choices={choices}
          columns={namesOf(page, 'column')}
          onChange={(value) => setChanged({ ...changed, [field.name]: value })}
        />
      ))}
      <CheckField
        label="Say what was found, in sentences"
        checked={withFindings}
        onChange={setWithFindings}
      />
    </EntryForm>
  );
}

function OptionInput({
  field,
  value,
  choices,
  columns,
  onChange,
}: {
  readonly field: OptionField;
  readonly value: unknown;
  readonly choices: readonly string[];
  readonly columns: readonly string[];
  onChange(value: unknown): void;
}) {
  const chosen = choices.map((name) => ({ value: `$${name}`, label: `the choice ${name}` }));
  const derived = columns.map((name) => ({ value: name, label: `the derived column ${name}` }));
  switch (field.kind) {
    case 'one-of':
      return (
        <SelectField
          label={field.label}
          value={String(value ?? field.initial)}
          options={[...field.values, ...(field.isOpen ? derived : []), ...chosen]}
          onChange={onChange}
        />
      );
    case 'some-of': {
      const picked = (value as readonly string[] | undefined) ?? field.initial;
      return (
        <fieldset class="field">
          <legend>{field.label}</legend>
          {[...field.values, ...chosen].map((option) => (
            <CheckField
              key={option.value}
              label={option.label}
              checked={picked.includes(option.value)}
              onChange={(checked) =>
                onChange(checked ? [...picked, option.value] : picked.filter((each) => each !== option.value))
              }
            />
          ))}
        </fieldset>
      );
    }
    case 'number':
      return (
        <TextField
          label={field.label}
          type="number"
          value={String(value ?? field.initial ?? '')}
          onInput={(text) => onChange(text === '' ? undefined : Number(text))}
        />
      );
    case 'numbers':
      return (
        <TextField
          label={field.label}
          value={Array.isArray(value) ? value.join(', ') : field.initial.join(', ')}
          onInput={(text) =>
            onChange(
              text
                .split(/[\s,]+/)
                .filter(Boolean)
                .map(Number),
            )
          }
        />
      );
    case 'text': {
      const isChosen = chosen.some((option) => option.value === value);
      return (
        <>
          {chosen.length > 0 && (
            <SelectField
              label={`${field.label} from`}
              value={isChosen ? String(value) : ''}
              options={[{ value: '', label: 'written here' }, ...chosen]}
              onChange={(picked) => onChange(picked === '' ? undefined : picked)}
            />
          )}
          {!isChosen && (
            <TextField
              label={field.label}
              value={String(value ?? field.initial)}
              onInput={(text) => onChange(text === '' ? undefined : text)}
            />
          )}
        </>
      );
    }
  }
}

/** A column worked out from others, for this page. */
export function ColumnForm({ page, onInsert }: EntryFormProps) {
  const [on, setOn] = useState('foot_visit');
  const [label, setLabel] = useState('');
  const [unit, setUnit] = useState('');
  const [expression, setExpression] = useState('');
  const make = () => {
    if (expression.trim() === '') throw new Error('Say how the column is worked out.');
    return { on, expression: expression.trim(), label, unit };
  };
  return (
    <EntryForm kind="column" suggested={label || 'column'} {...{ page, make, onInsert }}>
      <SelectField
        label="For each"
        value={on}
        options={[
          { value: 'foot_visit', label: 'visit of a foot' },
          { value: 'trim_cycle', label: 'trim cycle of a foot' },
        ]}
        onChange={setOn}
      />
      <TextField label="What it is, in words" value={label} onInput={setLabel} />
      <TextField label="Unit" value={unit} onInput={setUnit} />
      <TextField
        label="Worked out as, for example toe_after_mm / heel_after_mm"
        value={expression}
        onInput={setExpression}
        lines={2}
      />
    </EntryForm>
  );
}
