import { useMemo } from 'preact/hooks';
import { numbers, type Table } from '../../core/table.ts';
import { BROKEN_KEPT } from '../../intake/broken-rows.ts';
import { Grid } from '../../sheet/grid.tsx';
import type { AppState } from '../app-state.ts';
import { fittingLog, makeMendModel } from '../mend-model.ts';
import { mendedBooks } from '../mended-books.ts';
import { saveFile } from '../save-file.ts';

const whole = new Intl.NumberFormat('en-GB');

/** The books of the intake: where every row went, and each row set aside with its reason. */
export function RecordsSheet({ state }: { readonly state: AppState }) {
  const loaded = state.loaded.value;
  if (!loaded) return null;
  const { notices, setAside } = loaded;
  const { books } = mendedBooks(loaded.books, setAside, fittingLog(state.editing));
  const hasEmpty = books.some(({ emptyFeet }) => emptyFeet > 0);
  const sum = (of: 'rowsRead' | 'admitted' | 'setAside' | 'mended'): number =>
    books.reduce((total, book) => total + book[of], 0);
  return (
    <section class="sheet" aria-label="Rows read and set aside" data-testid="records">
      <h1>Rows read and set aside</h1>
      <p class="lead" data-testid="identity">
        {whole.format(sum('rowsRead'))} rows read = {whole.format(sum('admitted'))} admitted +{' '}
        {whole.format(sum('setAside'))} set aside
        {sum('mended') > 0 && ` (${whole.format(sum('mended'))} of those admitted were mended here)`}.
      </p>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: where it is wider than the window it must scroll by keyboard */}
      <section class="scroll" tabIndex={0} aria-label="Rows of each file">
        <table class="books" aria-label="Rows of each file">
          <thead>
            <tr>
              <th scope="col">File</th>
              <th scope="col">Holds</th>
              <th scope="col" class="number">
                Rows in the file
              </th>
              <th scope="col" class="number">
                Rows read
              </th>
              <th scope="col" class="number">
                Admitted
              </th>
              <th scope="col" class="number">
                Set aside
              </th>
              {hasEmpty && (
                <th scope="col" class="number">
                  Feet with nothing noted
                </th>
              )}
            </tr>
          </thead>
          <tbody>
            {books.map((book) => (
              <tr key={book.file}>
                <th scope="row">{book.file}</th>
                <td>{book.kind}</td>
                {[
                  book.sourceRows,
                  book.rowsRead,
                  book.admitted,
                  book.setAside,
                  ...(hasEmpty ? [book.emptyFeet] : []),
                ].map((n, i) => (
                  <td key={i} class="number">
                    {whole.format(n)}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      <p class="soft">
        One row is one foot at one visit, or one horse. A file row that holds four feet makes up to four rows.
      </p>
      {state.lengths.value === 'in' && (
        <p class="soft">The pages show lengths in inches: choose mm at the top for millimetres.</p>
      )}
      {notices.length > 0 && (
        <>
          <h2>Worth knowing</h2>
          <ul>
            {notices.map((notice) => (
              <li key={notice}>{notice}</li>
            ))}
          </ul>
        </>
      )}
      <h2>Set aside</h2>
      {setAside.rowCount === 0 ? (
        <p>Every row was admitted.</p>
      ) : (
        <SetAside state={state} setAside={setAside} />
      )}
      <p class="actions">
        <button
          type="button"
          class="button main"
          onClick={() => {
            state.sheet.value = { kind: 'none' };
          }}
        >
          To the pages
        </button>
      </p>
    </section>
  );
}

/** px: the reason is what the row stands here for. */
const REASON_WIDTHS = { set_aside_why: 420, set_aside_accepted: 260 };

function SetAside({ state, setAside }: { readonly state: AppState; readonly setAside: Table }) {
  const model = useMemo(() => makeMendModel(setAside, state.herd, state.editing), [setAside, state]);
  const left = model.pending.value.length;
  // Of very many rows that are broken alike the rest stand as runs of lines.
  const hasRuns = useMemo(() => numbers(setAside, 'rows').some((rows) => rows > 1), [setAside]);
  return (
    <>
      <p>
        {hasRuns
          ? `Nothing is lost: the first ${whole.format(BROKEN_KEPT)} broken rows of a file are kept here with the reason, and of the others how many they are and from which line to which.`
          : 'Nothing is lost: each row is kept here with the reason.'}{' '}
        Go to a row for its whole reason. Type a better value over a cell in colour (press Enter or F2); as
        soon as a row is whole it is admitted, and that can be undone. Or mend them in your file and open it
        again. Your file is not changed.
      </p>
      {left === 0 ? (
        <p>Every row that was set aside has been mended.</p>
      ) : (
        <Grid
          source={model.source.value}
          label="Rows set aside"
          identity={2}
          sort={null}
          editing={model.editing}
          isFaulty={model.isFaulty}
          widths={REASON_WIDTHS}
          onMarked={({ top }) => void model.tell(top).catch(() => undefined)}
        />
      )}
      {model.reason.value && <p data-testid="mend-reason">{model.reason.value}</p>}
      <p aria-live="polite" data-testid="mend-said">
        {model.said.value}
      </p>
      <p class="actions">
        <button type="button" class="button" onClick={() => void saveSetAside(setAside)}>
          Save as CSV
        </button>
        <button
          type="button"
          class="button"
          disabled={state.editing.steps.value.undo === null}
          onClick={() => {
            model.said.value = '';
            state.editing.undo().then(
              () => {
                model.said.value = 'The last change was taken back.';
              },
              (error: Error) => {
                model.said.value = error.message;
              },
            );
          }}
        >
          Undo
        </button>
      </p>
    </>
  );
}

async function saveSetAside(setAside: Table): Promise<void> {
  // The CSV writer is loaded when it is first wanted.
  const { tableToCsv } = await import('../../intake/csv-out.ts');
  saveFile('rows-set-aside.csv', tableToCsv(setAside), 'text/csv');
}
