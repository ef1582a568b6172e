import { FIRST_LAYOUT, moveColumn, orderedColumns, toggleHidden } from '../../sheet/sheet-layout.ts';
import type { PanelProps } from './panel-props.ts';
import { SidePanel } from './sheet-panel.tsx';

/** Which columns are shown, and in which order. */
export function ColumnsPanel({ model, open }: PanelProps) {
  const layout = model.layout.value;
  const columns = model.columns.value;
  return (
    <SidePanel title="Columns" testid="columns-panel" onClose={() => open(null)}>
      <ul class="column-list">
        {orderedColumns(columns, layout).map(({ name, label }) => (
          <li key={name}>
            <label class="tick">
              <input
                type="checkbox"
                checked={!layout.hidden.includes(name)}
                onChange={() => model.setLayout(toggleHidden(layout, name))}
              />
              {label}
            </label>
            <span class="column-moves">
              {([-1, 1] as const).map((by) => (
                <button
                  key={by}
                  type="button"
                  class="button small"
                  aria-label={`${label}: ${by < 0 ? 'further left' : 'further right'}`}
                  disabled={layout.hidden.includes(name)}
                  onClick={() => model.setLayout(moveColumn(columns, layout, name, by))}
                >
                  {by < 0 ? '←' : '→'}
                </button>
              ))}
              <button
                type="button"
                class="button small"
                aria-label={`${label}: about this column`}
                onClick={() => open({ kind: 'column', name })}
              >
                ⋯
              </button>
            </span>
          </li>
        ))}
      </ul>
      <p class="actions">
        <button type="button" class="button" onClick={() => model.setLayout(FIRST_LAYOUT)}>
          As at first
        </button>
      </p>
    </SidePanel>
  );
}
