import { useEffect, useId, useRef } from 'preact/hooks';
import type { FootVisitColumn } from '../../herd/dictionary.ts';
import { FOOT_LABELS, type Foot } from '../../herd/vocabularies.ts';
import { FOOT_FIELDS, HORSE_FIELDS, MORE_FOOT_FIELDS, VISIT_FIELDS } from '../visit-form.ts';
import type { PanelProps } from './panel-props.ts';
import { SidePanel } from './sheet-panel.tsx';
import { useVisit } from './use-visit.ts';
import { Feet } from './visit-feet.tsx';
import { FaultText, Field } from './visit-field.tsx';

/** A visit: four feet at once, what was last noted in sight, each fault beside its field. */
export function AddVisit({ model, herd, open }: PanelProps) {
  const first = useRef<HTMLInputElement>(null);
  const id = useId();
  const { form, faults, horses, busy, setText, faultOf, lastOf, add } = useVisit(herd, model);
  useEffect(() => {
    first.current?.focus();
  }, [herd]);

  const field = (column: FootVisitColumn, foot: Foot | null) => (
    <Field
      key={`${foot ?? ''} ${column.name}`}
      id={`${id}-${foot ?? 'visit'}-${column.name}`}
      column={column}
      foot={foot}
      text={(foot ? form.value.feet[foot] : form.value.visit)[column.name] ?? ''}
      last={lastOf(foot, column.name)}
      fault={faultOf(foot, column.name)}
      onText={(text) => setText(foot, column.name, text)}
    />
  );
  const whole = faults.value.filter(({ column }) => column === null);
  return (
    <SidePanel title="Add a visit" testid="add-visit" takesFocus={false} onClose={() => open(null)}>
      <form
        noValidate
        onSubmit={(event) => {
          event.preventDefault();
          void add(() => first.current?.focus());
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
              onInput={(event) => setText(null, 'horse_id', event.currentTarget.value)}
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
