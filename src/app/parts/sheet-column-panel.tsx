import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import { isoFromDay } from '../../core/civil-day.ts';
import { columnTitle, formatNumber } from '../../core/format-value.ts';
import type { ColumnSummary } from '../../sheet/column-summary.ts';
import { moveColumn, setWidth, toggleFixed, toggleHidden } from '../../sheet/sheet-layout.ts';
import type { SheetColumn } from '../sheet-service.ts';
import { FilterForm } from './filter-form.tsx';
import { Histogram } from './histogram.tsx';
import type { PanelProps } from './panel-props.ts';
import { SidePanel } from './sheet-panel.tsx';

const whole = new Intl.NumberFormat('en-GB');
const USUAL_WIDTH = 140;

/** One column: what its values are like, what is filtered by it, where it stands. */
export function ColumnPanel({ model, herd, state, open, name }: PanelProps & { readonly name: string }) {
  const column = model.columns.value.find((one) => one.name === name);
  const summary = useSignal<ColumnSummary | null>(null);
  const failed = useSignal<string | null>(null);
  const filters = model.filters.value;
  const everyone = model.wholeHerd.value;
  const version = state.cohortVersion.value;
  useEffect(() => {
    const controller = new AbortController();
    const { signal } = controller;
    herd.call('columnSummary', { view: model.view(), column: name }, { signal }).then(
      (found) => {
        if (signal.aborted) return;
        summary.value = found;
        failed.value = null;
      },
      (error: Error) => {
        if (!signal.aborted) failed.value = error.message;
      },
    );
    return () => controller.abort();
  }, [name, filters, everyone, version]);
  if (!column) return null;
  const layout = model.layout.value;
  const widen = (by: number) =>
    model.setLayout(setWidth(layout, name, Math.max(64, (layout.widths[name] ?? USUAL_WIDTH) + by)));
  return (
    <SidePanel title={columnTitle(column)} testid="column-panel" onClose={() => open(null)}>
      <p class="soft">{column.accepts}</p>
      {failed.value && <p class="warning">{failed.value}</p>}
      {summary.value && (
        <Summary
          summary={summary.value}
          column={column}
          onOnly={(value) => {
            model.filters.value = [...filters, { column: name, test: 'is', value }];
          }}
        />
      )}
      <h3>Show only rows where it …</h3>
      <FilterForm
        column={column}
        onFilter={(filter) => {
          model.filters.value = [...filters, filter];
        }}
      />
      <h3>Order and place</h3>
      <p class="actions">
        {[false, true].map((descending) => (
          <button
            key={String(descending)}
            type="button"
            class="button"
            onClick={() => {
              model.sort.value = { column: name, descending };
            }}
          >
            {descending ? 'Largest first' : 'Smallest first'}
          </button>
        ))}
        <button
          type="button"
          class="button"
          disabled={model.sort.value === null}
          onClick={() => {
            model.sort.value = null;
          }}
        >
          First order
        </button>
      </p>
      <p class="actions">
        <button type="button" class="button" onClick={() => widen(-24)}>
          Narrower
        </button>
        <button type="button" class="button" onClick={() => widen(24)}>
          Wider
        </button>
        <button
          type="button"
          class="button"
          onClick={() => model.setLayout(moveColumn(model.columns.value, layout, name, -1))}
        >
          Further left
        </button>
        <button
          type="button"
          class="button"
          onClick={() => model.setLayout(moveColumn(model.columns.value, layout, name, 1))}
        >
          Further right
        </button>
        <button
          type="button"
          class="button"
          aria-pressed={layout.fixed.includes(name)}
          onClick={() => model.setLayout(toggleFixed(layout, name))}
        >
          {layout.fixed.includes(name) ? 'Let it scroll' : 'Keep it in view'}
        </button>
        <button
          type="button"
          class="button"
          onClick={() => {
            model.setLayout(toggleHidden(layout, name));
            open(null);
          }}
        >
          {layout.hidden.includes(name) ? 'Show it' : 'Hide it'}
        </button>
      </p>
    </SidePanel>
  );
}

interface SummaryProps {
  readonly summary: ColumnSummary;
  readonly column: SheetColumn;
  readonly onOnly: (value: string) => void;
}

const NAMES = ['Smallest', 'A quarter lie below', 'Middle', 'Three quarters lie below', 'Largest'];

function Summary({ summary, column, onOnly }: SummaryProps) {
  const { count, missing, distinct, quantiles, top, histogram } = summary;
  const shown = (value: number) =>
    column.kind === 'day'
      ? isoFromDay(Math.round(value))
      : column.ungrouped
        ? String(Math.round(value))
        : formatNumber(value, column.digits);
  const listed = top.length > 0 && (quantiles === null || distinct <= top.length);
  return (
    <>
      <dl class="column-summary" data-testid="column-summary">
        <dt>Filled in</dt>
        <dd>{whole.format(count)}</dd>
        <dt>Missing</dt>
        <dd>{whole.format(missing)}</dd>
        <dt>Different values</dt>
        <dd>{whole.format(distinct)}</dd>
        {quantiles?.map((value, at) => [
          <dt key={`t${at}`}>{NAMES[at]}</dt>,
          <dd key={`d${at}`}>{shown(value)}</dd>,
        ])}
      </dl>
      {histogram && <Histogram histogram={histogram} shown={shown} label={columnTitle(column)} />}
      {listed && (
        <>
          <h3>Commonest</h3>
          <ul class="top-values">
            {top.map(({ value, count: n }) => (
              <li key={value}>
                <button type="button" class="button small" onClick={() => onOnly(value)}>
                  {value}
                </button>
                <span class="bar" style={{ width: `${(60 * n) / Math.max(1, top[0]!.count)}px` }} />
                <span class="soft">{whole.format(n)}</span>
              </li>
            ))}
          </ul>
        </>
      )}
    </>
  );
}
