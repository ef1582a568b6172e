import { useMemo } from 'preact/hooks';
import type { Table } from '../../core/table.ts';
import { type GridColumn, RowGrid, type RowSource } from '../../sheet/row-grid.tsx';
import { tableSource } from '../../sheet/table-source.ts';
import { saveFile } from '../save-file.ts';
import type { AppState } from '../state.ts';

const whole = new Intl.NumberFormat('en-GB');

/** The books of the intake: where every row went, and each row set aside with its reason. */
export function RecordsSheet({ state }: { readonly state: AppState }) {
  const loaded = state.loaded.value;
  if (!loaded) return null;
  const { books, notices, setAside } = loaded;
  const sum = (of: 'rowsRead' | 'admitted' | 'setAside'): number =>
    books.reduce((total, book) => total + book[of], 0);
  return (
    <section class="sheet" aria-label="Rows read and set aside" data-testid="records">
      <h1>Rows read and set aside</h1>
      <p class="lead" data-testid="identity">
        {whole.format(sum('rowsRead'))} rows read = {whole.format(sum('admitted'))} admitted +{' '}
        {whole.format(sum('setAside'))} set aside.
      </p>
      <div class="scroll">
        <table class="books">
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
              <th scope="col" class="number">
                Feet with nothing noted
              </th>
            </tr>
          </thead>
          <tbody>
            {books.map((book) => (
              <tr key={book.file}>
                <th scope="row">{book.file}</th>
                <td>{book.kind}</td>
                {[book.sourceRows, book.rowsRead, book.admitted, book.setAside, book.emptyFeet].map(
                  (n, i) => (
                    <td key={i} class="number">
                      {whole.format(n)}
                    </td>
                  ),
                )}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <p class="soft">
        One row is one foot at one visit, or one horse. A file row that holds four feet makes up to four rows.
      </p>
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
      {setAside.rowCount === 0 ? <p>Every row was admitted.</p> : <SetAside setAside={setAside} />}
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

const COLUMNS: readonly GridColumn[] = [
  { name: 'file', label: 'File' },
  { name: 'line', label: 'Line', digits: 0 },
  { name: 'column', label: 'Column' },
  { name: 'value', label: 'Value' },
  { name: 'reason', label: 'Why' },
  { name: 'accepted', label: 'What would be accepted' },
  { name: 'horse_id', label: 'Horse' },
  { name: 'raw', label: 'The row as it stood' },
];

function SetAside({ setAside }: { readonly setAside: Table }) {
  const source: RowSource = useMemo(() => tableSource(setAside, COLUMNS), [setAside]);
  return (
    <>
      <p>
        Nothing is lost: each row is kept here with the reason, a line for each fault. Mend them in your file
        and open it again.
      </p>
      <RowGrid source={source} label="Rows set aside" identity={2} />
      <p class="actions">
        <button type="button" class="button" onClick={() => void saveSetAside(setAside)}>
          Save as CSV
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
