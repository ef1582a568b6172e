import { FOOT_VISIT, HORSE_COLUMNS, isColumnName } from '../../herd/dictionary.ts';
import { FEET, FOOT_LABELS, type Foot } from '../../herd/vocabularies.ts';
import type { CellUnit, MappedColumn, Mapping } from '../../intake/mapping.ts';
import { mappingProblems } from '../../intake/mapping.ts';
import type { Inspection } from '../herd-service.ts';
import type { AppState } from '../state.ts';
import { Admission } from './admission.tsx';

const LENGTH_UNITS: readonly CellUnit[] = ['mm', 'cm', 'in'];
const UNIT_WORDS: Record<CellUnit, string> = {
  mm: 'mm',
  cm: 'cm',
  in: 'inches',
  deg: 'degrees',
  kg: 'kg',
  lb: 'lb',
};
const whole = new Intl.NumberFormat('en-GB');

/** How each file will be read, open to change, before a row is admitted. */
export function MappingSheet({
  state,
  inspections,
}: {
  readonly state: AppState;
  readonly inspections: readonly Inspection[];
}) {
  const open = inspections.flatMap(({ file, mapping }) =>
    mappingProblems(mapping).map((problem) => `${file}: ${problem}`),
  );
  const close = (): void => {
    state.sheet.value = { kind: 'none' };
  };
  return (
    <section class="sheet" aria-label="How the files are read" data-testid="mapping">
      <h1>How your files are read</h1>
      <p class="lead">
        Look over what each column was taken for, change what is wrong, then read the rows. Nothing leaves
        this machine, and your files are not changed.
      </p>
      {inspections.map((inspection) => (
        <FileMapping
          key={inspection.file}
          inspection={inspection}
          change={(mapping) => state.changeMapping(inspection.file, mapping)}
        />
      ))}
      <fieldset class="inline">
        <legend>Seasons</legend>
        {(['north', 'south'] as const).map((side) => (
          <label key={side}>
            <input
              type="radio"
              name="hemisphere"
              checked={state.hemisphere.value === side}
              onChange={() => {
                state.hemisphere.value = side;
              }}
            />
            {side === 'north' ? 'Northern hemisphere' : 'Southern hemisphere'}
          </label>
        ))}
      </fieldset>
      {open.length > 0 && (
        <div class="warning" role="alert">
          <p>Still open:</p>
          <ul>
            {open.map((problem) => (
              <li key={problem}>{problem}</li>
            ))}
          </ul>
        </div>
      )}
      <p class="actions sticky-actions">
        <Admission state={state} ready={open.length === 0} />
        <button type="button" class="button" onClick={close}>
          Leave them
        </button>
      </p>
    </section>
  );
}

interface FileMappingProps {
  readonly inspection: Inspection;
  readonly change: (mapping: Mapping) => void;
}

function FileMapping({ inspection, change }: FileMappingProps) {
  const { file, mapping, rowCount, encoding, delimiter, remembered } = inspection;
  const described = [encoding?.toUpperCase(), delimiter && `${delimiter}-separated`]
    .filter(Boolean)
    .join(', ');
  const set = (index: number, part: Partial<MappedColumn>): void =>
    change({
      ...mapping,
      columns: mapping.columns.map((column, i) =>
        i === index ? { ...column, ...part, confidence: 'user', why: 'as you chose' } : column,
      ),
    });
  return (
    <article class="file-mapping">
      <h2>{file}</h2>
      <p>
        {whole.format(rowCount)} rows of {mapping.kind === 'visits' ? 'visits' : 'horses'}
        {described && `; ${described}`}.{' '}
        {mapping.decimalWhy &&
          `Decimal ${mapping.decimal === 'comma' ? 'comma' : 'point'}: ${mapping.decimalWhy}.`}{' '}
        {remembered && 'Read as you chose before for a file with these headers.'}
      </p>
      {mapping.kind === 'visits' && <DateOrder mapping={mapping} file={file} change={change} />}
      <div class="scroll">
        <table class="mapping">
          <thead>
            <tr>
              <th scope="col">In your file</th>
              <th scope="col" class="examples-head">
                For instance
              </th>
              <th scope="col">Read as</th>
              <th scope="col">Foot</th>
              <th scope="col">Unit</th>
            </tr>
          </thead>
          <tbody>
            {mapping.columns.map((column, index) => (
              <ColumnRow
                key={column.source}
                column={column}
                kind={mapping.kind}
                set={(part) => set(index, part)}
              />
            ))}
          </tbody>
        </table>
      </div>
    </article>
  );
}

interface ColumnRowProps {
  readonly column: MappedColumn;
  readonly kind: Mapping['kind'];
  readonly set: (part: Partial<MappedColumn>) => void;
}

function ColumnRow({ column, kind, set }: ColumnRowProps) {
  const targets = kind === 'visits' ? FOOT_VISIT : HORSE_COLUMNS;
  const described = FOOT_VISIT.find((one) => one.name === column.target);
  const isLength = described?.unit === 'mm';
  return (
    <tr class={column.target === null ? 'unused' : undefined}>
      <th scope="row">{column.source}</th>
      <td class="examples">{column.examples.join(' · ')}</td>
      <td>
        <select
          aria-label={`Read ${column.source} as`}
          value={column.target ?? ''}
          onChange={(event) => {
            const value = event.currentTarget.value;
            const target = isColumnName(value) ? value : null;
            const unit = FOOT_VISIT.find((one) => one.name === target)?.unit ?? null;
            set({ target, unit: unit === 'mm' && isLength ? column.unit : unit, warning: null });
          }}
        >
          <option value="">not used</option>
          {targets.map(({ name, label }) => (
            <option key={name} value={name}>
              {label}
            </option>
          ))}
        </select>
        <span class="why">
          {column.target !== null && column.why}
          {column.warning && <span class="warning-text"> {column.warning}</span>}
        </span>
      </td>
      <td>
        {described?.per === 'foot' && described.name !== 'foot' && kind === 'visits' && (
          <select
            aria-label={`Foot of ${column.source}`}
            value={column.foot ?? ''}
            onChange={(event) => set({ foot: (event.currentTarget.value || null) as Foot | null })}
          >
            <option value="">one row a foot</option>
            {FEET.map((foot) => (
              <option key={foot} value={foot}>
                {FOOT_LABELS[foot]}
              </option>
            ))}
          </select>
        )}
      </td>
      <td>
        {isLength ? (
          <select
            aria-label={`Unit of ${column.source}`}
            value={column.unit ?? ''}
            onChange={(event) =>
              set({ unit: (event.currentTarget.value || null) as CellUnit | null, warning: null })
            }
          >
            {column.unit === null && <option value="">choose</option>}
            {LENGTH_UNITS.map((unit) => (
              <option key={unit} value={unit}>
                {UNIT_WORDS[unit]}
              </option>
            ))}
          </select>
        ) : (
          column.unit && UNIT_WORDS[column.unit]
        )}
      </td>
    </tr>
  );
}

/** Day-first or month-first: asked with the evidence wherever the file leaves it open. */
function DateOrder({
  mapping,
  file,
  change,
}: {
  readonly mapping: Mapping;
  readonly file: string;
  readonly change: (mapping: Mapping) => void;
}) {
  const { dateOrder, dateEvidence } = mapping;
  if (dateEvidence.both + dateEvidence.onlyDayFirst + dateEvidence.onlyMonthFirst === 0) return null;
  const example =
    dateEvidence.examples.both[0] ??
    dateEvidence.examples.onlyDayFirst[0] ??
    dateEvidence.examples.onlyMonthFirst[0];
  return (
    <fieldset class={dateOrder === 'ask' ? 'inline warning' : 'inline'}>
      <legend>Dates{example && ` such as ${example}`}</legend>
      {(['day-first', 'month-first'] as const).map((order) => (
        <label key={order}>
          <input
            type="radio"
            name={`dates of ${file}`}
            checked={dateOrder === order}
            onChange={() => change({ ...mapping, dateOrder: order })}
          />
          {order === 'day-first' ? 'Day first' : 'Month first'}
        </label>
      ))}
      <span class="soft">
        {whole.format(dateEvidence.both)} rows fit both readings, {whole.format(dateEvidence.onlyDayFirst)}{' '}
        only day first, {whole.format(dateEvidence.onlyMonthFirst)} only month first.
      </span>
    </fieldset>
  );
}
