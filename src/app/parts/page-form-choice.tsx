import { useState } from 'preact/hooks';
import { commonRulesBody } from '../../pages/rules-example.ts';
import { dataTables, EntryForm, type EntryFormProps, SelectField, TextField } from './page-form.tsx';

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
