import { shownInstant } from '../../core/civil-day.ts';
import type { Amendment } from '../../sheet/amendment.ts';
import { amendmentTable } from '../../sheet/amendment-table.ts';
import type { Conflict } from '../../sheet/conflict.ts';
import { deedWords, rowWords, valueWords } from '../../sheet/deed-words.ts';
import { type AmendmentBatch, batchesOf, countingIds } from '../../sheet/history.ts';
import { saveFile } from '../save-file.ts';
import type { PanelProps } from './panel-props.ts';
import { SidePanel } from './sheet-panel.tsx';

const whole = new Intl.NumberFormat('en-GB');
const MOST_BATCHES = 200;
const MOST_LINES = 100;

/** Every change, newest first; each can be taken back, and made again. */
export function HistoryPanel({ state, model, open }: PanelProps) {
  const log = state.editing.log.value;
  const counting = countingIds(log);
  const byId = new Map(log.map((amendment) => [amendment.id, amendment]));
  const batches = batchesOf(log).reverse();
  const conflicts = state.editing.conflicts.value;
  const locked = state.editing.locked.value !== null;
  const takeBack = (ids: readonly string[]) =>
    state.editing.takeBack(ids).catch((error: Error) => {
      model.outcome.value = { text: `Nothing was taken back: ${error.message}`, faults: [] };
    });
  return (
    <SidePanel title="Changes" testid="history-panel" onClose={() => open(null)}>
      {conflicts.length > 0 && <Conflicts conflicts={conflicts} locked={locked} takeBack={takeBack} />}
      {batches.length === 0 ? (
        <p>Nothing has been changed. What you change is kept apart from your files, and listed here.</p>
      ) : (
        <p class="actions">
          <button type="button" class="button" onClick={() => void saveLog(log)}>
            Save as CSV
          </button>
        </p>
      )}
      <ol class="history" aria-label="Changes, newest first">
        {batches.slice(0, MOST_BATCHES).map((batch) => (
          <Action key={batch.id} {...{ batch, counting, byId, locked, takeBack }} />
        ))}
      </ol>
      {batches.length > MOST_BATCHES && (
        <p class="soft">
          {whole.format(batches.length - MOST_BATCHES)} older ones are in the file that you can save above.
        </p>
      )}
    </SidePanel>
  );
}

interface ActionProps {
  readonly batch: AmendmentBatch;
  readonly counting: ReadonlySet<string>;
  readonly byId: ReadonlyMap<string, Amendment>;
  readonly locked: boolean;
  readonly takeBack: (ids: readonly string[]) => void;
}

function Action({ batch: { amendments }, counting, byId, locked, takeBack }: ActionProps) {
  const first = amendments[0]!;
  const standing = amendments.filter(({ id }) => counting.has(id));
  const isUndo = first.deed.kind === 'undo';
  return (
    <li class={standing.length === 0 ? 'is-undone' : undefined}>
      <p>
        <span class="soft">
          {shownInstant(first.at)}
          {first.by && `, ${first.by}`}
        </span>{' '}
        {amendments.length === 1
          ? sentence(first, byId)
          : `${whole.format(amendments.length)} changes at once.`}{' '}
        {first.reason && <span class="reason">Reason: {first.reason}.</span>}
        {standing.length === 0 && <span class="soft"> Taken back.</span>}
      </p>
      {amendments.length > 1 && (
        <details>
          <summary>One by one</summary>
          <ul>
            {amendments.slice(0, MOST_LINES).map((one) => (
              <li key={one.id} class={counting.has(one.id) ? undefined : 'is-undone'}>
                {sentence(one, byId)}{' '}
                {counting.has(one.id) && (
                  <button
                    type="button"
                    class="button small"
                    disabled={locked}
                    onClick={() => takeBack([one.id])}
                  >
                    Take this back
                  </button>
                )}
              </li>
            ))}
          </ul>
          {amendments.length > MOST_LINES && (
            <p class="soft">and {whole.format(amendments.length - MOST_LINES)} more</p>
          )}
        </details>
      )}
      {standing.length > 0 && (
        <button
          type="button"
          class="button small"
          disabled={locked}
          onClick={() => takeBack(standing.map(({ id }) => id))}
        >
          {isUndo ? 'Make it again' : 'Take back'}
        </button>
      )}
    </li>
  );
}

/** In words; an undo tells of what it took back, an undo of an undo of what counts again. */
function sentence({ deed }: Amendment, byId: ReadonlyMap<string, Amendment>): string {
  let told: Amendment | undefined;
  let isBack = false;
  let next = deed;
  while (next.kind === 'undo') {
    told = next.of.length === 1 ? byId.get(next.of[0]!) : undefined;
    if (!told) return deedWords(next);
    isBack = !isBack;
    next = told.deed;
  }
  return told ? `${isBack ? 'Taken back' : 'Made again'}: ${deedWords(next)}` : deedWords(deed);
}

interface ConflictsProps {
  readonly conflicts: readonly Conflict[];
  readonly locked: boolean;
  readonly takeBack: (ids: readonly string[]) => void;
}

function Conflicts({ conflicts, locked, takeBack }: ConflictsProps) {
  return (
    <div class="warning" data-testid="conflicts">
      <h3>
        {whole.format(conflicts.length)} {conflicts.length === 1 ? 'change does' : 'changes do'} not fit these
        files
      </h3>
      <p>They are kept but not in effect. Take them back to be rid of them, or change the cell anew.</p>
      <ul>
        {conflicts.slice(0, MOST_LINES).map(({ amendment, reason, found }) => (
          <li key={amendment.id}>
            {deedWords(amendment.deed)} {conflictWords(amendment, reason, found)}{' '}
            <button
              type="button"
              class="button small"
              disabled={locked}
              onClick={() => takeBack([amendment.id])}
            >
              Take back
            </button>
          </li>
        ))}
      </ul>
    </div>
  );
}

function conflictWords({ deed }: Amendment, reason: Conflict['reason'], found: Conflict['found']): string {
  if (reason === 'row is gone') return 'This row is not in the files any more.';
  if (reason === 'row is there already')
    return `The files now have this row themselves: ${rowWords('row' in deed ? deed.row : '')}.`;
  return deed.kind === 'change'
    ? `The files now say ${valueWords(found, deed.column)}.`
    : 'The files say something else by now.';
}

async function saveLog(log: readonly Amendment[]): Promise<void> {
  // The CSV writer is loaded when it is first wanted.
  const { tableToCsv } = await import('../../intake/csv-out.ts');
  saveFile('changes.csv', tableToCsv(amendmentTable(log)), 'text/csv');
}
