import { useSignal } from '@preact/signals';
import { useEffect, useId, useRef } from 'preact/hooks';
import { isoFromDay } from '../../core/civil-day.ts';
import { columnTitle } from '../../core/format-value.ts';
import type { ColumnName, FootVisitColumn } from '../../herd/dictionary.ts';
import { FEET, FOOT_LABELS, type Foot } from '../../herd/vocabularies.ts';
import type { Deed, StoredValue } from '../../sheet/amendment.ts';
import {
  EMPTY_VISIT,
  FOOT_FIELDS,
  HORSE_FIELDS,
  MORE_FOOT_FIELDS,
  rowsOfVisit,
  VISIT_FIELDS,
  type VisitFault,
  type VisitForm,
  visitFaults,
} from '../visit-form.ts';
import type { PanelProps } from './panel-props.ts';
import { SidePanel } from './sheet-panel.tsx';

type Last = Readonly<Record<string, Readonly<Record<string, StoredValue>>>>;
const UNITS: Readonly<Record<string, string>> = { mm: 'mm', deg: '°', kg: 'kg' };
const LAST_ASKED_AFTER = 250;

const titleOf = ({ label, unit }: FootVisitColumn) =>
  columnTitle({ label, ...(unit ? { unit: UNITS[unit] ?? unit } : {}) });

/** A visit: four feet at once, what was last noted in sight, each fault beside its field. */
export function AddVisit({ model, herd, open }: PanelProps) {
  const form = useSignal<VisitForm>(EMPTY_VISIT);
  const faults = useSignal<readonly VisitFault[]>([]);
  const last = useSignal<Last>({});
  const horses = useSignal<readonly string[]>([]);
  const busy = useSignal(false);
  const first = useRef<HTMLInputElement>(null);
  const id = useId();
  const horse = form.value.visit.horse_id?.trim() ?? '';

  useEffect(() => {
    first.current?.focus();
    const view = { filters: [], sort: null, wholeHerd: true };
    herd.call('columnSummary', { view, column: 'horse_id' }).then(
      ({ top }) => {
        horses.value = top.map(({ value }) => value);
      },
      // Only the offer of names is missing then.
      () => undefined,
    );
  }, [herd]);
  useEffect(() => {
    last.value = {};
    if (horse === '') return;
    const controller = new AbortController();
    const { signal } = controller;
    const timer = setTimeout(() => {
      herd.call('lastValues', horse, { signal }).then(
        (found) => {
          if (!signal.aborted) last.value = found;
        },
        () => undefined,
      );
    }, LAST_ASKED_AFTER);
    return () => {
      clearTimeout(timer);
      controller.abort();
    };
  }, [horse, herd]);

  const setVisit = (name: string, text: string) => {
    form.value = { ...form.value, visit: { ...form.value.visit, [name]: text } };
  };
  const setFoot = (foot: Foot, name: string, text: string) => {
    const { feet } = form.value;
    form.value = { ...form.value, feet: { ...feet, [foot]: { ...feet[foot], [name]: text } } };
  };
  const faultOf = (foot: Foot | null, column: string) =>
    faults.value.find((fault) => fault.foot === foot && fault.column === column) ?? null;
  const lastSeen = (name: string): StoredValue => {
    for (const foot of FEET) {
      const value = last.value[foot]?.[name];
      if (value !== undefined && value !== null) return value;
    }
    return null;
  };

  const add = async () => {
    const rows = rowsOfVisit(form.value);
    if (rows.length === 0) {
      faults.value = [
        {
          foot: null,
          column: null,
          reason: 'nothing is noted of any foot',
          accepted: 'one value at least at one foot',
        },
      ];
      return;
    }
    const judged = await herd.call(
      'judgeRows',
      rows.map(({ row }) => row),
    );
    faults.value = visitFaults(
      rows.map(({ foot }) => foot),
      judged,
    );
    if (faults.value.length > 0) return;
    const deeds = judged.flatMap((row): Deed[] =>
      row.ok
        ? [
            {
              kind: 'add',
              row: row.row,
              values: row.values as Partial<Record<ColumnName, StoredValue>>,
              mends: null,
            },
          ]
        : [],
    );
    if (!(await model.record(deeds))) return;
    const { horse_id: who, visit_date: day } = form.value.visit;
    model.outcome.value = {
      text: `The visit of ${who} on ${day} was added: ${deeds.length} ${deeds.length === 1 ? 'foot' : 'feet'}.`,
      faults: [],
    };
    const [key] = deeds;
    form.value = {
      ...EMPTY_VISIT,
      visit: { visit_date: day ?? '', practitioner_id: form.value.visit.practitioner_id ?? '' },
    };
    first.current?.focus();
    if (key?.kind === 'add') await model.showRow(key.row);
  };

  const field = (column: FootVisitColumn, foot: Foot | null) => (
    <Field
      key={`${foot ?? ''} ${column.name}`}
      id={`${id}-${foot ?? 'visit'}-${column.name}`}
      column={column}
      foot={foot}
      text={(foot ? form.value.feet[foot] : form.value.visit)[column.name] ?? ''}
      last={foot ? (last.value[foot]?.[column.name] ?? null) : lastSeen(column.name)}
      fault={faultOf(foot, column.name)}
      onText={(text) => (foot ? setFoot(foot, column.name, text) : setVisit(column.name, text))}
    />
  );
  const whole = faults.value.filter(({ column }) => column === null);
  return (
    <SidePanel title="Add a visit" testid="add-visit" takesFocus={false} onClose={() => open(null)}>
      <form
        noValidate
        onSubmit={(event) => {
          event.preventDefault();
          if (busy.value) return;
          busy.value = true;
          add()
            .catch((error: Error) => {
              faults.value = [
                { foot: null, column: null, reason: error.message, accepted: 'trying once more' },
              ];
            })
            .finally(() => {
              busy.value = false;
            });
        }}
      >
        <div class="visit-fields">
          <div class="field">
            <label for={`${id}-horse`}>Horse</label>
            <input
              id={`${id}-horse`}
              ref={first}
              type="text"
              autocomplete="off"
              list={`${id}-horses`}
              value={form.value.visit.horse_id ?? ''}
              aria-invalid={faultOf(null, 'horse_id') !== null}
              aria-describedby={`${id}-horse-fault`}
              onInput={(event) => setVisit('horse_id', event.currentTarget.value)}
            />
            <datalist id={`${id}-horses`}>
              {horses.value.map((name) => (
                <option key={name} value={name} />
              ))}
            </datalist>
            <FaultText id={`${id}-horse-fault`} fault={faultOf(null, 'horse_id')} />
          </div>
          {VISIT_FIELDS.map((column) => field(column, null))}
        </div>
        <details>
          <summary>About the horse, if it is new</summary>
          <div class="visit-fields">{HORSE_FIELDS.map((column) => field(column, null))}</div>
        </details>
        <Feet fields={FOOT_FIELDS} field={field} />
        <details>
          <summary>More measurements</summary>
          <Feet fields={MORE_FOOT_FIELDS} field={field} />
        </details>
        <p class="soft">
          Grey is what was last noted of that foot: it is not taken over. A foot left empty is not added.
          Lengths may be in mm, cm or inches, as in 3 3/8 in.
        </p>
        {whole.map(({ foot, reason, accepted }) => (
          <p key={`${foot} ${reason}`} class="warning" role="alert">
            {foot ? `${FOOT_LABELS[foot]}: ` : ''}
            {reason}. Accepted: {accepted}
          </p>
        ))}
        {faults.value.length > whole.length && (
          <p class="warning" role="alert" data-testid="visit-faults">
            {faults.value.length - whole.length === 1
              ? 'One field needs another value; nothing was added yet.'
              : `${faults.value.length - whole.length} fields need another value; nothing was added yet.`}
          </p>
        )}
        <p class="actions">
          <button type="submit" class="button main" disabled={busy.value}>
            Add the visit
          </button>
        </p>
      </form>
    </SidePanel>
  );
}

interface FeetProps {
  readonly fields: readonly FootVisitColumn[];
  readonly field: (column: FootVisitColumn, foot: Foot) => preact.ComponentChild;
}

function Feet({ fields, field }: FeetProps) {
  return (
    <div class="scroll">
      <table class="visit-feet">
        <thead>
          <tr>
            <td />
            {FEET.map((foot) => (
              <th key={foot} scope="col">
                {FOOT_LABELS[foot]}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {fields.map((column) => (
            <tr key={column.name}>
              <th scope="row">{titleOf(column)}</th>
              {FEET.map((foot) => (
                <td key={foot}>{field(column, foot)}</td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

interface FieldProps {
  readonly id: string;
  readonly column: FootVisitColumn;
  readonly foot: Foot | null;
  readonly text: string;
  readonly last: StoredValue;
  readonly fault: VisitFault | null;
  readonly onText: (text: string) => void;
}

function Field({ id, column, foot, text, last, fault, onText }: FieldProps) {
  const { name, kind, levels } = column;
  const words: readonly string[] | null =
    kind === 'level'
      ? levels
      : kind === 'grade'
        ? ['0', '1', '2', '3']
        : kind === 'boolean'
          ? ['yes', 'no']
          : null;
  const before =
    last === null
      ? ''
      : typeof last === 'boolean'
        ? last
          ? 'yes'
          : 'no'
        : kind === 'day' && typeof last === 'number'
          ? isoFromDay(last)
          : String(typeof last === 'number' ? Math.round(last * 10) / 10 : last);
  const common = {
    id,
    'aria-invalid': fault !== null,
    'aria-describedby': `${id}-fault`,
    ...(foot ? { 'aria-label': `${titleOf(column)}, ${FOOT_LABELS[foot]}` } : {}),
  };
  const control = words ? (
    <select
      {...common}
      class={text === '' ? 'is-empty' : undefined}
      value={text}
      onChange={(event) => onText(event.currentTarget.value)}
    >
      <option value="">{before === '' ? '–' : `– (last ${before})`}</option>
      {words.map((word) => (
        <option key={word} value={word}>
          {word}
        </option>
      ))}
    </select>
  ) : name === 'visit_date' ? (
    <input {...common} type="date" value={text} onInput={(event) => onText(event.currentTarget.value)} />
  ) : (
    <input
      {...common}
      type="text"
      autocomplete="off"
      value={text}
      placeholder={before}
      onInput={(event) => onText(event.currentTarget.value)}
    />
  );
  return (
    <div class="field">
      {!foot && <label for={id}>{titleOf(column)}</label>}
      {control}
      <FaultText id={`${id}-fault`} fault={fault} />
    </div>
  );
}

function FaultText({ id, fault }: { readonly id: string; readonly fault: VisitFault | null }) {
  return (
    <span id={id} class="field-fault">
      {fault && `${fault.reason}. Accepted: ${fault.accepted}`}
    </span>
  );
}
