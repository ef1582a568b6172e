import { useState } from 'preact/hooks';
import { EntryForm, type EntryFormProps, SelectField, TextField } from './page-form.tsx';

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
