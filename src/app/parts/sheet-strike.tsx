import { useSignal } from '@preact/signals';
import type { PanelProps } from './panel-props.ts';
import { SidePanel } from './sheet-panel.tsx';

const whole = new Intl.NumberFormat('en-GB');

/** Takes the marked rows out of the count; they stay in the file and can be taken back in. */
export function StrikePanel({ model, open }: PanelProps) {
  const why = useSignal(model.reason.value);
  const range = model.marked.value;
  const rows = range ? range.bottom - range.top + 1 : 0;
  return (
    <SidePanel title="Strike rows" testid="strike-panel" onClose={() => open(null)}>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void model.strikeMarked(why.value).then(() => open(null));
        }}
      >
        {range === null ? (
          <p>Mark a cell of the row first, or several rows with Shift and the arrows.</p>
        ) : (
          <p data-testid="strike-what">
            {rows === 1
              ? `Row ${whole.format(range.top + 1)}`
              : `Rows ${whole.format(range.top + 1)} to ${whole.format(range.bottom + 1)} (${whole.format(rows)} rows)`}{' '}
            will count no longer, anywhere. Your file is not changed, and this can be undone.
          </p>
        )}
        <label class="field">
          Why
          <input
            type="text"
            required
            value={why.value}
            placeholder="the wrong horse, entered twice"
            onInput={(event) => {
              why.value = event.currentTarget.value;
            }}
          />
        </label>
        <p class="actions">
          <button type="submit" class="button main" disabled={range === null || why.value.trim() === ''}>
            Strike
          </button>
        </p>
      </form>
    </SidePanel>
  );
}
