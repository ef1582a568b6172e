import { isoFromDay } from '../../core/civil-day.ts';
import { columnTitle } from '../../core/format-value.ts';
import type { FootVisitColumn } from '../../herd/dictionary.ts';
import { FOOT_LABELS, type Foot } from '../../herd/vocabularies.ts';
import type { StoredValue } from '../../sheet/amendment.ts';
import type { VisitFault } from '../visit-form.ts';

const GRADES = ['0', '1', '2', '3'];
const UNITS: Readonly<Record<string, string>> = { mm: 'mm', deg: '°', kg: 'kg' };

export const titleOf = ({ label, unit }: FootVisitColumn) =>
  columnTitle({ label, ...(unit ? { unit: UNITS[unit] ?? unit } : {}) });

/** What a field is chosen from; null where it is written. */
function wordsOf({ kind, levels }: FootVisitColumn): readonly string[] | null {
  if (kind === 'level') return levels;
  if (kind === 'grade') return GRADES;
  return kind === 'boolean' ? ['yes', 'no'] : null;
}

/** What was last noted, to a tenth; empty where nothing was. */
function lastWords(last: StoredValue, kind: FootVisitColumn['kind']): string {
  if (last === null) return '';
  if (typeof last === 'boolean') return last ? 'yes' : 'no';
  if (typeof last === 'string') return last;
  return kind === 'day' ? isoFromDay(last) : String(Math.round(last * 10) / 10);
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

/** A field of a visit, or of one foot at it: a choice of words, a date or a text, with what was last noted in grey. */
export function Field({ id, column, foot, text, last, fault, onText }: FieldProps) {
  const { name, kind } = column;
  const words = wordsOf(column);
  const before = lastWords(last, kind);
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

export function FaultText({ id, fault }: { readonly id: string; readonly fault: VisitFault | null }) {
  return (
    <span id={id} class="field-fault">
      {fault && `${fault.reason}. Accepted: ${fault.accepted}`}
    </span>
  );
}
