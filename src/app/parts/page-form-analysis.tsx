import { useState } from 'preact/hooks';
import { type OptionField, optionFields } from '../../pages/analysis-fields.ts';
import { CheckField, EntryForm, type EntryFormProps, namesOf, SelectField, TextField } from './page-form.tsx';

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
