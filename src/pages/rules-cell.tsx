import type { DecisionColumn } from '../core/decision-table.ts';
import { ANYTHING, BOUND_KINDS, type DraftCell } from './rules-draft.ts';

interface RulesCellProps {
  /** For those who do not see the table: `Row 1, sole depth`. */
  readonly name: string;
  /** The list of faults, where this cell is among them. */
  readonly describedBy: string | null;
  readonly column: DecisionColumn;
  readonly cell: DraftCell;
  /** While it is being typed; nothing is computed yet. */
  onType(cell: DraftCell): void;
  onSet(cell: DraftCell): void;
}

const picksOf = (column: DecisionColumn): readonly { value: string; label: string }[] => {
  if (column.kind === 'level') return column.options;
  if (column.options) return column.options.map(({ label }, at) => ({ value: String(at), label }));
  return BOUND_KINDS.map(({ pick, label }) => ({ value: pick, label }));
};

/** One condition of a row: anything, a level, or a bound with its number. */
export function RulesCell({ name, describedBy, column, cell, onType, onSet }: RulesCellProps) {
  const isFree = column.kind === 'number' && !column.options;
  const fields = !isFree || cell.pick === '' ? [] : cell.pick === 'between' ? FIELDS : FIELDS.slice(0, 1);
  return (
    <span class={isFree ? 'rules-number' : 'rules-level'}>
      <select
        aria-label={name}
        value={cell.pick}
        onChange={(event) => {
          const pick = event.currentTarget.value;
          const changed = pick === '' ? ANYTHING : { ...cell, pick };
          // A bound says nothing before its number is there.
          const isWhole =
            pick === '' || !isFree || (cell.from !== '' && (pick !== 'between' || cell.to !== ''));
          if (isWhole) onSet(changed);
          else onType(changed);
        }}
      >
        <option value="">any</option>
        {picksOf(column).map((each) => (
          <option key={each.value} value={each.value}>
            {each.label}
          </option>
        ))}
      </select>
      {fields.map(({ key, words }) => (
        <input
          key={key}
          type="text"
          inputMode="decimal"
          size={5}
          aria-label={cell.pick === 'between' ? `${name}, ${words}` : `${name}, number`}
          aria-invalid={describedBy !== null}
          {...(describedBy === null ? {} : { 'aria-describedby': describedBy })}
          value={cell[key]}
          onInput={(event) => onType({ ...cell, [key]: event.currentTarget.value })}
          onChange={(event) => onSet({ ...cell, [key]: event.currentTarget.value })}
        />
      ))}
    </span>
  );
}

const FIELDS = [
  { key: 'from', words: 'from' },
  { key: 'to', words: 'to under' },
] as const;
