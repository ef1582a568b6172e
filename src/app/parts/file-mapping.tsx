import { FOOT_VISIT, HORSE_COLUMNS, isColumnName } from '../../herd/dictionary.ts';
import { FEET, FOOT_LABELS, type Foot } from '../../herd/vocabularies.ts';
import { chooseDateOrder, chooseFoot, chooseUnit, retarget } from '../../intake/choices.ts';
import type { CellUnit, FileKind, MappedColumn, Mapping } from '../../intake/mapping.ts';
import { mappingGaps } from '../../intake/mapping-gaps.ts';
import { readAlike } from '../alike-files.ts';
import type { Inspection } from '../herd-service.ts';

const UNITS_BY_KIND: Readonly<Record<string, readonly CellUnit[]>> = {
  length: ['mm', 'cm', 'in'],
  mass: ['kg', 'lb'],
};
const UNIT_WORDS: Record<CellUnit, string> = {
  mm: 'mm',
  cm: 'cm',
  in: 'inches',
  deg: 'degrees',
  kg: 'kg',
  lb: 'lb',
};
const whole = new Intl.NumberFormat('en-GB');

interface FileMappingProps {
  readonly inspection: Inspection;
  /** An earlier file of those looked over that has the same headers. */
  readonly like: Inspection | null;
  readonly change: (change: (mapping: Mapping) => Mapping) => void;
  readonly readAs: (kind: FileKind) => void;
}

/** What is out of the ordinary about how a file is written: the ordinary is comma-separated UTF-8. */
function writtenHow({ encoding, delimiter, mapping }: Inspection): string {
  const parts = [
    encoding && encoding !== 'utf-8' && encoding.toUpperCase(),
    delimiter && delimiter !== 'comma' && `${delimiter}-separated`,
    mapping.decimalWhy,
  ];
  return parts.filter(Boolean).join(', ');
}

/** How one file will be read: its kind, its dates, and a line for each column. */
export function FileMapping({ inspection, like, change, readAs }: FileMappingProps) {
  const { file, mapping, rowCount, remembered } = inspection;
  const how = writtenHow(inspection);
  const gaps = mappingGaps(mapping);
  const isSame = like !== null && readAlike(like.mapping, mapping);
  const ofFeet = mapping.columns.some(({ foot }) => foot !== null);
  // Where a column says which foot, and none belongs to one foot, there is nothing to choose.
  const namesFoot = mapping.columns.some(({ target }) => target === 'foot');
  const feet = mapping.kind === 'visits' && (ofFeet || !namesFoot);
  const at = (one: Mapping, column: MappedColumn): number =>
    one.columns.findIndex(({ source }) => source === column.source);
  const changeColumn = (column: MappedColumn, make: (mapping: Mapping, index: number) => Mapping): void =>
    change((one) => (at(one, column) === -1 ? one : make(one, at(one, column))));
  const table = (
    <div class="scroll">
      <table class="mapping" aria-label={`How the columns of ${file} are read`}>
        <thead>
          <tr>
            <th scope="col">In your file</th>
            <th scope="col" class="examples-head">
              For instance
            </th>
            <th scope="col">Read as</th>
            {feet && <th scope="col">Foot</th>}
            <th scope="col">Unit</th>
          </tr>
        </thead>
        <tbody>
          {mapping.columns.map((column) => (
            <ColumnRow
              key={column.source}
              column={column}
              kind={mapping.kind}
              feet={feet}
              aim={(target) => changeColumn(column, (one, index) => retarget(one, index, target))}
              setFoot={(foot) => changeColumn(column, (one, index) => chooseFoot(one, index, foot))}
              setUnit={(unit) => changeColumn(column, (one, index) => chooseUnit(one, index, unit))}
            />
          ))}
        </tbody>
      </table>
    </div>
  );
  return (
    <article class="file-mapping">
      <h2>{file}</h2>
      <p>
        <label>
          This file holds{' '}
          <select
            aria-label={`What ${file} holds`}
            value={mapping.kind}
            onChange={(event) => readAs(event.currentTarget.value === 'horses' ? 'horses' : 'visits')}
          >
            <option value="visits">visits</option>
            <option value="horses">horses</option>
          </select>
        </label>{' '}
        in {whole.format(rowCount)} rows{how && `; ${how}`}.{' '}
        {remembered && 'Read in part as you chose before for a file with these headers.'}
      </p>
      {(mapping.notes ?? []).map((note) => (
        <p key={note} class="warning">
          {note}
        </p>
      ))}
      {mapping.kind === 'visits' && <DateOrder mapping={mapping} file={file} change={change} />}
      {isSame && (
        <p class="soft">
          The same columns as {like.file}, and read the same way: what you choose there is chosen here too.
        </p>
      )}
      {isSame ? (
        <details>
          <summary>Its columns</summary>
          {table}
        </details>
      ) : (
        <>
          {table}
          {gaps.map((gap) => (
            <p key={gap} class="soft">
              {gap}
            </p>
          ))}
        </>
      )}
    </article>
  );
}

interface ColumnRowProps {
  readonly column: MappedColumn;
  readonly kind: Mapping['kind'];
  /** Whether a column may belong to one foot. */
  readonly feet: boolean;
  readonly aim: (target: MappedColumn['target']) => void;
  readonly setFoot: (foot: Foot | null) => void;
  readonly setUnit: (unit: CellUnit) => void;
}

function ColumnRow({ column, kind, feet, aim, setFoot, setUnit }: ColumnRowProps) {
  const targets = kind === 'visits' ? FOOT_VISIT : HORSE_COLUMNS;
  const described = FOOT_VISIT.find((one) => one.name === column.target);
  const units = UNITS_BY_KIND[described?.kind ?? ''];
  const reasons = [column.why, column.unitWhy].filter(Boolean).join('; ');
  return (
    <tr class={column.target === null ? 'unused' : undefined}>
      <th scope="row">{column.source}</th>
      <td class="examples" title={column.examples.join(' · ')}>
        {column.examples.join(' · ')}
      </td>
      <td>
        <select
          aria-label={`Read ${column.source} as`}
          value={column.target ?? ''}
          onChange={(event) => {
            const value = event.currentTarget.value;
            aim(isColumnName(value) ? value : null);
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
          {reasons && (column.warning ? `${reasons}. ` : reasons)}
          {column.warning && <span class="warning-text">{sentence(column.warning)}</span>}
        </span>
      </td>
      {feet && (
        <td>
          {described?.per === 'foot' && described.name !== 'foot' && kind === 'visits' && (
            <select
              aria-label={`Foot of ${column.source}`}
              value={column.foot ?? ''}
              onChange={(event) => setFoot((event.currentTarget.value || null) as Foot | null)}
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
      )}
      <td>
        {units ? (
          <select
            aria-label={`Unit of ${column.source}`}
            value={column.unit ?? ''}
            onChange={(event) => setUnit(event.currentTarget.value as CellUnit)}
          >
            {column.unit === null && <option value="">choose</option>}
            {units.map((unit) => (
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

function sentence(text: string): string {
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
}

/** Day-first or month-first: asked with the evidence wherever the file leaves it open. */
function DateOrder({
  mapping,
  file,
  change,
}: {
  readonly mapping: Mapping;
  readonly file: string;
  readonly change: FileMappingProps['change'];
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
            onChange={() => change((one) => chooseDateOrder(one, order))}
          />
          {order === 'day-first' ? 'Day first' : 'Month first'}
        </label>
      ))}
      <span class="soft">
        {whole.format(dateEvidence.onlyDayFirst)} rows can only be read day first,{' '}
        {whole.format(dateEvidence.onlyMonthFirst)} only month first, {whole.format(dateEvidence.both)} either
        way.
      </span>
    </fieldset>
  );
}
