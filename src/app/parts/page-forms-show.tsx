import { useState } from 'preact/hooks';
import { type ChartPlan, chartBody, endsFor } from '../../pages/chart-builder.ts';
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

const NO_DATA = 'There is no result to show yet: put a query or an analysis on the page first.';
const NOTHING: Option = { value: '', label: 'nothing' };

const MARKS: readonly Option[] = [
  { value: 'dot', label: 'dots' },
  { value: 'line', label: 'a line' },
  { value: 'bar', label: 'bars' },
  { value: 'step', label: 'steps' },
];

/** A chart of a result's columns. */
export function ChartForm({ page, runtime, onInsert }: EntryFormProps) {
  const tables = dataTables(page, runtime);
  const [data, setData] = useState('');
  const table = tables.find(({ name }) => name === data) ?? tables.at(-1);
  const [mark, setMark] = useState('dot');
  const [along, setAlong] = useState('');
  const [up, setUp] = useState('');
  const [by, setBy] = useState('');
  const [title, setTitle] = useState('');
  const [zero, setZero] = useState(false);
  const [withEnds, setWithEnds] = useState(true);
  if (!table) return <p class="soft">{NO_DATA}</p>;
  const names = table.columns.map(({ value }) => value);
  const has = (name: string) => names.includes(name);
  const x = has(along) ? along : (names[0] ?? '');
  const usual = ['estimate', 'middle'].find(has) ?? table.columns.find(({ numeric }) => numeric)?.value;
  const y = has(up) ? up : (usual ?? names.at(-1) ?? '');
  const ends = endsFor(names, x, y);
  const make = () =>
    chartBody({
      data: table.name,
      mark: mark as ChartPlan['mark'],
      x,
      y,
      by: has(by) ? by : null,
      ends: withEnds ? ends : null,
      title,
      zero,
    });
  return (
    <EntryForm kind="chart" suggested={title || `${table.name} chart`} {...{ page, make, onInsert }}>
      <SelectField
        label="Of"
        value={table.name}
        options={tables.map(({ name, label }) => ({ value: name, label }))}
        onChange={setData}
      />
      <SelectField label="Drawn as" value={mark} options={MARKS} onChange={setMark} />
      <SelectField label="Along" value={x} options={table.columns} onChange={setAlong} />
      <SelectField label="Up" value={y} options={table.columns} onChange={setUp} />
      <SelectField label="Told apart by" value={by} options={[NOTHING, ...table.columns]} onChange={setBy} />
      <TextField label="Title" value={title} onInput={setTitle} />
      {ends && (
        <CheckField
          label={ends.low === 'conf_low' ? 'With 95 % intervals' : 'With the middle half of the values'}
          checked={withEnds}
          onChange={setWithEnds}
        />
      )}
      <CheckField label="The scale begins at zero" checked={zero} onChange={setZero} />
    </EntryForm>
  );
}

/** A result as a table. */
export function TableForm({ page, runtime, onInsert }: EntryFormProps) {
  const tables = dataTables(page, runtime);
  const [of, setOf] = useState('');
  const table = tables.find(({ name }) => name === of) ?? tables.at(-1);
  const [left, setLeft] = useState<readonly string[]>([]);
  const [by, setBy] = useState('');
  const [order, setOrder] = useState('ascending');
  const [caption, setCaption] = useState('');
  if (!table) return <p class="soft">{NO_DATA}</p>;
  const shown = table.columns.map(({ value }) => value).filter((name) => !left.includes(name));
  const make = () => {
    if (shown.length === 0) throw new Error('Choose a column at least.');
    return {
      of: table.name,
      columns: shown.length < table.columns.length ? shown : undefined,
      sort: by === '' ? undefined : { by, order },
      caption,
    };
  };
  return (
    <EntryForm kind="table" suggested={`${table.name} table`} {...{ page, make, onInsert }}>
      <SelectField
        label="Of"
        value={table.name}
        options={tables.map(({ name, label }) => ({ value: name, label }))}
        onChange={(name) => {
          setOf(name);
          setLeft([]);
          setBy('');
        }}
      />
      <fieldset class="field">
        <legend>Columns</legend>
        {table.columns.map(({ value, label }) => (
          <CheckField
            key={value}
            label={label}
            checked={shown.includes(value)}
            onChange={(checked) =>
              setLeft(checked ? left.filter((name) => name !== value) : [...left, value])
            }
          />
        ))}
      </fieldset>
      <SelectField label="Sorted by" value={by} options={[NOTHING, ...table.columns]} onChange={setBy} />
      {by !== '' && (
        <SelectField
          label="Order"
          value={order}
          options={[
            { value: 'ascending', label: 'least first' },
            { value: 'descending', label: 'most first' },
          ]}
          onChange={setOrder}
        />
      )}
      <TextField label="Caption" value={caption} onInput={setCaption} />
    </EntryForm>
  );
}

/** What an analysis found, in sentences. */
export function FindingsForm({ page, onInsert }: EntryFormProps) {
  const analyses = namesOf(page, 'analysis');
  const [of, setOf] = useState('');
  const chosen = analyses.includes(of) ? of : (analyses.at(-1) ?? '');
  if (chosen === '') return <p class="soft">There is no analysis on the page yet.</p>;
  return (
    <EntryForm
      kind="findings"
      suggested={`${chosen} found`}
      make={() => ({ of: chosen })}
      {...{ page, onInsert }}
    >
      <SelectField
        label="Of"
        value={chosen}
        options={analyses.map((name) => ({ value: name, label: name }))}
        onChange={setOf}
      />
    </EntryForm>
  );
}
