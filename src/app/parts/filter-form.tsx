import { useSignal } from '@preact/signals';
import type { SheetFilter } from '../../sheet/view.ts';
import { needsValue, TEST_WORDS, testsFor } from '../filter-words.ts';
import { choicesOf } from '../sheet-model.ts';
import type { SheetColumn } from '../sheet-service.ts';

/** How a column is compared with a value. */
export function FilterForm({
  column,
  action = 'Filter',
  onFilter,
}: {
  readonly column: SheetColumn;
  readonly action?: string;
  readonly onFilter: (filter: SheetFilter) => void;
}) {
  const tests = testsFor(column.kind);
  const test = useSignal<SheetFilter['test']>(tests[0]!);
  const value = useSignal('');
  const choices = choicesOf(column);
  const isReady = !needsValue(test.value) || value.value.trim() !== '';
  return (
    <form
      class="filter-form"
      onSubmit={(event) => {
        event.preventDefault();
        if (!isReady) return;
        onFilter({
          column: column.name,
          test: test.value,
          value: needsValue(test.value) ? value.value.trim() : null,
        });
        value.value = '';
      }}
    >
      <select
        aria-label="How it is compared"
        value={test.value}
        onChange={(event) => {
          test.value = event.currentTarget.value as SheetFilter['test'];
        }}
      >
        {tests.map((one) => (
          <option key={one} value={one}>
            {TEST_WORDS[one]}
          </option>
        ))}
      </select>
      {needsValue(test.value) &&
        (choices && test.value !== 'contains' ? (
          <select
            aria-label="Value to compare with"
            value={value.value}
            onChange={(event) => {
              value.value = event.currentTarget.value;
            }}
          >
            <option value="">choose</option>
            {choices.map((choice) => (
              <option key={choice} value={choice}>
                {choice}
              </option>
            ))}
          </select>
        ) : (
          <ValueInput
            column={column}
            value={value.value}
            onValue={(text) => {
              value.value = text;
            }}
          />
        ))}
      <button type="submit" class="button" disabled={!isReady}>
        {action}
      </button>
    </form>
  );
}

interface ValueInputProps {
  readonly column: SheetColumn;
  readonly value: string;
  readonly onValue: (text: string) => void;
}

function ValueInput({ column, value, onValue }: ValueInputProps) {
  const common = { 'aria-label': 'Value to compare with', value };
  return column.kind === 'day' ? (
    <input {...common} type="date" onInput={(event) => onValue(event.currentTarget.value)} />
  ) : (
    <input {...common} type="text" onInput={(event) => onValue(event.currentTarget.value)} />
  );
}
