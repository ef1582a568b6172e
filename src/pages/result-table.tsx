import { useContext, useMemo, useState } from 'preact/hooks';
import type { Behind, ResultColumn } from '../analyses/analysis.ts';
import { columnTitle, formatCell } from '../core/format-value.ts';
import { type RowSort, sortedRows } from '../core/sort-rows.ts';
import { type Table, texts } from '../core/table.ts';
import type { TableBody } from './entry-schemas.ts';
import type { TableView } from './entry-state.ts';
import { rowsBehind } from './rows-behind.ts';
import { ShownLengthContext, tableInLengths } from './shown-lengths.ts';
import { isBehindColumn } from './table-view.ts';
import { TABLE_FORMATS, type TableFormat, TakeAwayContext } from './take-away.ts';
import { TakeAwayButtons } from './take-away-buttons.tsx';

/** A page is for reading: a longer table belongs into the sheet. */
const MOST_ROWS = 2000;

const isNumeric = (table: Table, name: string) => table.columns[name]?.type === 'number';

/** Letters up to which a column's words stay on one line: `right fore`, `2026-11-02`. */
const SHORT = 12;

function lookOf(table: Table, name: string): string {
  const type = table.columns[name]?.type;
  if (type === 'number') return 'is-number';
  if (type === 'day') return 'is-day';
  if (type !== 'text') return '';
  return texts(table, name).every((text) => (text?.length ?? 0) <= SHORT) ? 'is-short' : '';
}

/** The columns that a table shows, under the names that it gives them. Throws on one that is not there. */
export function shownColumns(view: TableView, wanted: TableBody['columns']): ResultColumn[] {
  if (!wanted) return view.columns.filter(({ name }) => !isBehindColumn(name));
  return wanted.map((given) => {
    const known = view.columns.find((column) => column.name === given.name);
    if (!known) {
      const names = view.columns.map((column) => column.name).filter((name) => !isBehindColumn(name));
      throw new Error(`columns must be columns of the data (${names.join(', ')}): ${given.name}`);
    }
    const stated = Object.fromEntries(Object.entries(given).filter(([, value]) => value !== undefined));
    return { ...known, ...stated };
  });
}

interface HeadProps {
  readonly column: ResultColumn;
  readonly numeric: boolean;
  readonly sort: RowSort | undefined;
  onSort(sort: RowSort): void;
}

function Head({ column, numeric, sort, onSort }: HeadProps) {
  const order = sort?.by === column.name ? sort.order : undefined;
  const next = order === 'ascending' ? 'descending' : 'ascending';
  return (
    <th scope="col" class={numeric ? 'is-number' : ''} aria-sort={order ?? 'none'}>
      <button type="button" class="plain" onClick={() => onSort({ by: column.name, order: next })}>
        {columnTitle(column)}
        <span aria-hidden="true" class="sort-sign">
          {order === 'ascending' ? ' ↑' : order === 'descending' ? ' ↓' : ''}
        </span>
      </button>
    </th>
  );
}

interface ResultTableProps {
  readonly view: TableView;
  /** `entry` or `entry.table`, as it can be taken away. */
  readonly name?: string;
  readonly columns?: TableBody['columns'];
  readonly sort?: RowSort | undefined;
  readonly limit?: number;
  readonly caption?: string | undefined;
  onOpenRows(behind: Behind): void;
}

/**
 * A result as a table that can be read aloud, sorted, and opened row by row; where its analysis could not answer, the
 * sentence that says so. Throws on a column that is not there.
 */
export function ResultTable(props: ResultTableProps) {
  const { unanswered } = props.view;
  return unanswered ? <p class="nothing">{unanswered}</p> : <AnsweredTable {...props} />;
}

function AnsweredTable({
  view,
  name,
  columns,
  sort: firstSort,
  limit = 20,
  caption,
  onOpenRows,
}: ResultTableProps) {
  const [chosenSort, setSort] = useState<RowSort>();
  const [showsAll, setShowsAll] = useState(false);
  const takeAway = useContext(TakeAwayContext);
  const sort = chosenSort ?? firstSort;
  const lengths = useContext(ShownLengthContext);
  const { table, columns: shown } = useMemo(
    () => tableInLengths(view.table, shownColumns(view, columns), lengths, view.columns),
    [view, columns, lengths],
  );
  const looks = useMemo(() => shown.map(({ name }) => lookOf(table, name)), [table, shown]);
  const order = useMemo(() => sortedRows(table, sort), [table, sort]);
  const rows = order.slice(0, showsAll ? MOST_ROWS : limit);
  if (table.rowCount === 0)
    return <p class="nothing">No row answers to this choice of horses and settings.</p>;
  return (
    <>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard */}
      <section class="table-scroll" aria-label={caption ?? view.title} tabIndex={0}>
        <table class="result-table">
          <caption>
            <span>{caption ?? view.title}</span>
          </caption>
          <thead>
            <tr>
              {shown.map((column) => (
                <Head
                  key={column.name}
                  column={column}
                  numeric={isNumeric(table, column.name)}
                  sort={sort}
                  onSort={setSort}
                />
              ))}
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => {
              const behind = rowsBehind(view, row);
              const open = behind ? () => onOpenRows(behind) : undefined;
              return (
                // The button in the first cell does the same by keyboard.
                <tr key={row} data-row={row} class={open ? 'is-open' : ''} onClick={open}>
                  {shown.map((column, at) => {
                    const text = formatCell(table, column, row);
                    const look = looks[at];
                    if (at > 0) {
                      return (
                        <td key={column.name} class={look}>
                          {text}
                        </td>
                      );
                    }
                    return (
                      <th key={column.name} scope="row" class={look}>
                        {open ? (
                          <button type="button" class="plain opens" title="Rows behind this">
                            {text}
                          </button>
                        ) : (
                          text
                        )}
                      </th>
                    );
                  })}
                </tr>
              );
            })}
          </tbody>
        </table>
      </section>
      {table.rowCount > limit && (
        <p class="table-foot">
          {rows.length < table.rowCount && `The first ${rows.length} of ${table.rowCount} rows. `}
          <button type="button" class="plain" onClick={() => setShowsAll(!showsAll)}>
            {showsAll
              ? `Show ${limit} rows`
              : table.rowCount > MOST_ROWS
                ? `Show ${MOST_ROWS} rows`
                : 'Show all'}
          </button>
        </p>
      )}
      {takeAway && name && (
        <TakeAwayButtons
          what="this table"
          formats={TABLE_FORMATS}
          take={(format) => takeAway.table(name, view, format as TableFormat)}
        />
      )}
    </>
  );
}
