import './rules-control.css';
import { useContext, useEffect, useRef, useState } from 'preact/hooks';
import { shownUnit } from '../analyses/lengths.ts';
import {
  type DecisionColumn,
  type DecisionFault,
  type DecisionShape,
  decisionText,
  MOST_DECISION_ROWS,
  readDecisions,
} from '../core/decision-table.ts';
import type { ChoiceValue } from './page-executor.ts';
import { RulesCell } from './rules-cell.tsx';
import { ownRules, ownRulesText, type RulesBody, rulesShape } from './rules-choice.ts';
import {
  ANYTHING,
  type DraftCell,
  type DraftRow,
  draftOf,
  type RulesDraft,
  readDraft,
} from './rules-draft.ts';
import { ShownLengthContext } from './shown-lengths.ts';

interface RulesControlProps {
  readonly id: string;
  readonly body: RulesBody;
  readonly value: ChoiceValue | null;
  onChoose(value: ChoiceValue): void;
}

/** A decision table as a table of form controls. What cannot be read is said, and the rule before stays in force. */
export function RulesControl({ id, body, value, onChoose }: RulesControlProps) {
  const lengths = useContext(ShownLengthContext);
  const shape = rulesShape(body);
  const text = typeof value === 'string' ? value : ownRulesText(body);
  const fresh = () => draftOf(readDecisions(text, shape).table ?? ownRules(body), shape, lengths);
  const [draft, setDraft] = useState<RulesDraft>(fresh);
  const [faults, setFaults] = useState<readonly DecisionFault[]>([]);
  const [told, setTold] = useState('');
  const before = useRef<string[]>([]);
  const said = useRef(text);
  const table = useRef<HTMLTableElement>(null);
  const focus = useRef<string | null>(null);
  const nextId = useRef(draft.rows.length);

  const startAnew = () => {
    const next = fresh();
    nextId.current = next.rows.length;
    setDraft(next);
    setFaults([]);
  };
  // Chosen elsewhere (kept from before, undone, the page's own): the cells follow.
  useEffect(() => {
    if (text === said.current) return;
    said.current = text;
    startAnew();
  }, [text]);
  useEffect(() => startAnew(), [lengths]);
  useEffect(() => {
    if (focus.current === null) return;
    const wanted = focus.current
      .split(',')
      .map((each) => table.current?.querySelector<HTMLButtonElement>(each));
    wanted.find((button) => button && !button.disabled)?.focus();
    focus.current = null;
  });

  const commit = (next: RulesDraft) => {
    setDraft(next);
    const read = readDraft(next, shape, lengths);
    setFaults(read.faults);
    if (!read.table) return;
    const now = decisionText(read.table);
    if (now === said.current) return;
    before.current.push(said.current);
    said.current = now;
    onChoose(now);
  };
  const goTo = (wanted: string) => {
    onChoose(wanted);
    setTold('');
  };
  const withRows = (rows: readonly DraftRow[]): RulesDraft => ({ ...draft, rows });
  const setRow = (at: number, row: DraftRow): RulesDraft =>
    withRows(draft.rows.map((each, k) => (k === at ? row : each)));
  const move = (at: number, by: -1 | 1) => {
    const rows = [...draft.rows];
    const [row] = rows.splice(at, 1);
    rows.splice(at + by, 0, row!);
    const wanted = by < 0 ? ['up', 'down'] : ['down', 'up'];
    focus.current = wanted.map((act) => `[data-row="${row!.id}"] [data-act="${act}"]`).join(',');
    setTold(`Row ${at + 1} is now row ${at + 1 + by}.`);
    commit(withRows(rows));
  };
  const remove = (at: number) => {
    focus.current = '[data-act="add"]';
    setTold(`Row ${at + 1} removed.`);
    commit(withRows(draft.rows.filter((_, k) => k !== at)));
  };
  const add = () => {
    const cells = Object.fromEntries(shape.columns.map(({ name }) => [name, ANYTHING]));
    // The outcome that is not said otherwise: an added row that repeats it would say nothing.
    const say = shape.outcomes.find(({ value }) => value !== draft.otherwise)!.value;
    nextId.current += 1;
    setTold(`Row ${draft.rows.length + 1} added.`);
    commit(withRows([...draft.rows, { id: nextId.current, cells, say }]));
  };

  return (
    <div class="rules" id={id} data-testid="rules">
      <div class="rules-scroll">
        <table ref={table}>
          <caption>{body.label}</caption>
          <thead>
            <tr>
              <th scope="col">
                <span class="visually-hidden">Row</span>
              </th>
              {shape.columns.map((column) => (
                <th scope="col" key={column.name}>
                  {heading(column, lengths)}
                </th>
              ))}
              <th scope="col">Then</th>
              <th scope="col">
                <span class="visually-hidden">Move or remove</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {draft.rows.map((row, at) => (
              <tr key={row.id} data-row={row.id}>
                <th scope="row">{at + 1}</th>
                {shape.columns.map((column) => {
                  const isFault = faults.some((each) => each.row === at + 1 && each.column === column.name);
                  const cell = row.cells[column.name] ?? ANYTHING;
                  const put = (changed: DraftCell) =>
                    setRow(at, { ...row, cells: { ...row.cells, [column.name]: changed } });
                  return (
                    <td key={column.name}>
                      <RulesCell
                        name={`Row ${at + 1}, ${column.label.toLowerCase()}`}
                        describedBy={isFault ? `${id}-faults` : null}
                        column={column}
                        cell={cell}
                        onType={(changed) => setDraft(put(changed))}
                        onSet={(changed) => commit(put(changed))}
                      />
                    </td>
                  );
                })}
                <td>
                  <Outcome
                    name={`Row ${at + 1}, then`}
                    shape={shape}
                    value={row.say}
                    onSet={(say) => commit(setRow(at, { ...row, say }))}
                  />
                </td>
                <td class="rules-acts">
                  <Act act="up" name={`Move row ${at + 1} up`} off={at === 0} onAct={() => move(at, -1)} />
                  <Act
                    act="down"
                    name={`Move row ${at + 1} down`}
                    off={at === draft.rows.length - 1}
                    onAct={() => move(at, 1)}
                  />
                  <Act act="remove" name={`Remove row ${at + 1}`} onAct={() => remove(at)} />
                </td>
              </tr>
            ))}
            <tr class="rules-otherwise">
              <th scope="row" colSpan={shape.columns.length + 1}>
                {draft.rows.length === 0 ? 'Always' : 'Otherwise'}
              </th>
              <td>
                <Outcome
                  name="Otherwise"
                  shape={shape}
                  value={draft.otherwise}
                  onSet={(otherwise) => commit({ ...draft, otherwise })}
                />
              </td>
              <td />
            </tr>
          </tbody>
          <tfoot>
            <tr>
              <td colSpan={shape.columns.length + 3}>
                <div class="rules-foot">
                  <button
                    type="button"
                    class="small"
                    data-act="add"
                    disabled={draft.rows.length >= MOST_DECISION_ROWS}
                    onClick={add}
                  >
                    Add a row
                  </button>{' '}
                  <button
                    type="button"
                    class="small"
                    disabled={before.current.length === 0}
                    onClick={() => goTo(before.current.pop()!)}
                  >
                    Undo
                  </button>{' '}
                  <button
                    type="button"
                    class="small"
                    disabled={text === ownRulesText(body) && faults.length === 0}
                    onClick={() => {
                      if (text === ownRulesText(body)) startAnew();
                      else before.current.push(text);
                      goTo(ownRulesText(body));
                    }}
                  >
                    Back to the page’s own
                  </button>
                </div>
              </td>
            </tr>
          </tfoot>
        </table>
      </div>
      {faults.length > 0 && (
        <div class="rules-faults" id={`${id}-faults`} role="alert">
          <ul>
            {faults.map(({ message }) => (
              <li key={message}>{capital(message)}.</li>
            ))}
          </ul>
          <p>Until then the rule stays as it was.</p>
        </div>
      )}
      <span class="visually-hidden" role="status">
        {told}
      </span>
    </div>
  );
}

const capital = (text: string) => text.replace(/^./, (letter) => letter.toUpperCase());

function heading(column: DecisionColumn, lengths: 'mm' | 'in'): string {
  const unit = column.kind === 'number' && column.unit ? ` (${shownUnit(lengths, column.unit)})` : '';
  return `${column.label}${unit}`;
}

interface OutcomeProps {
  readonly name: string;
  readonly shape: DecisionShape;
  readonly value: string;
  onSet(value: string): void;
}

function Outcome({ name, shape, value, onSet }: OutcomeProps) {
  return (
    <select aria-label={name} value={value} onChange={(event) => onSet(event.currentTarget.value)}>
      {shape.outcomes.map((each) => (
        <option key={each.value} value={each.value}>
          {each.label}
        </option>
      ))}
    </select>
  );
}

interface ActProps {
  readonly act: 'up' | 'down' | 'remove';
  readonly name: string;
  readonly off?: boolean;
  onAct(): void;
}

const SIGNS = { up: '↑', down: '↓', remove: '×' } as const;

function Act({ act, name, off = false, onAct }: ActProps) {
  return (
    <button
      type="button"
      class="small"
      data-act={act}
      aria-label={name}
      title={name}
      disabled={off}
      onClick={onAct}
    >
      {SIGNS[act]}
    </button>
  );
}
