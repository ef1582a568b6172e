import './question.css';
import { type Signal, signal } from '@preact/signals';
import { createContext } from 'preact';
import { useContext, useId } from 'preact/hooks';
import { isMm, type ShownLength, shownUnit } from '../analyses/lengths.ts';
import { formatNumber } from '../core/format-value.ts';
import { toMm } from '../core/length.ts';
import type { EntryOf } from './page.ts';
import { type Answer, checkAnswer, figureWords, truthWords } from './question-check.ts';
import type { QuestionBody, QuestionResult, SamplesResult, Worked } from './question-schema.ts';
import { ShownLengthContext } from './shown-lengths.ts';

/** Opens a herd that comes with the program; null where nothing can be opened, as in a test or a printed page. */
export const OpenSampleContext = createContext<((name: string) => void) | null>(null);

/** What the student has done with one question: kept while the tab is open, and nowhere else. */
interface Given {
  /** As typed, or the chosen option's place. */
  readonly typed: string;
  readonly answer: Answer | null;
  readonly complaint: string | null;
  readonly isShown: boolean;
}

const NOTHING: Given = { typed: '', answer: null, complaint: null, isShown: false };
const given = new Map<string, Signal<Given>>();

function givenTo(entry: EntryOf<'question'>, herd: string): Signal<Given> {
  const key = `${herd} ${entry.name} ${entry.source}`;
  const known = given.get(key) ?? signal(NOTHING);
  given.set(key, known);
  return known;
}

interface PartProps {
  readonly body: QuestionBody;
  readonly herd: string;
  readonly state: Signal<Given>;
  readonly lengths: ShownLength;
}

/** Reads what was typed, in the unit in which lengths are read; a decimal comma will do. */
function readNumber({ body, state, lengths }: PartProps): void {
  const { typed } = state.value;
  const value = Number(typed.trim().replace(',', '.').replace('−', '-'));
  const isNumber = typed.trim() !== '' && Number.isFinite(value);
  const answer = isMm(body.unit) && lengths === 'in' ? toMm(value, 'in') : value;
  state.value = isNumber
    ? { ...state.value, answer, complaint: null, isShown: false }
    : { ...state.value, answer: null, complaint: 'Write a number, such as 2.5.' };
}

function NumberField(props: PartProps) {
  const { body, state, lengths } = props;
  const id = useId();
  const { typed, complaint } = state.value;
  return (
    <form
      class="question-form"
      onSubmit={(event) => {
        event.preventDefault();
        readNumber(props);
      }}
    >
      <label for={id}>Your answer{body.unit && `, ${shownUnit(lengths, body.unit)}`}</label>
      <input
        id={id}
        type="text"
        inputMode="decimal"
        autocomplete="off"
        value={typed}
        aria-invalid={complaint !== null}
        aria-describedby={complaint === null ? undefined : `${id}-complaint`}
        onInput={(event) => {
          state.value = { ...state.value, typed: event.currentTarget.value };
        }}
      />
      <Buttons {...props} />
      {complaint && (
        <p id={`${id}-complaint`} class="question-complaint" role="alert">
          {complaint}
        </p>
      )}
    </form>
  );
}

function ChoiceField(props: PartProps) {
  const { body, state } = props;
  const id = useId();
  const { typed, complaint } = state.value;
  if (body.kind !== 'choice') return null;
  return (
    <form
      class="question-form"
      onSubmit={(event) => {
        event.preventDefault();
        const option = body.options[Number(state.value.typed || Number.NaN)];
        state.value = option
          ? { ...state.value, answer: option.value, complaint: null, isShown: false }
          : { ...state.value, complaint: 'Choose one of the answers.' };
      }}
    >
      <fieldset>
        <legend>Your answer</legend>
        {body.options.map(({ value, label }, at) => (
          <label key={value}>
            <input
              type="radio"
              name={id}
              checked={typed === String(at)}
              onChange={() => {
                state.value = { ...state.value, typed: String(at) };
              }}
            />{' '}
            {label}
          </label>
        ))}
      </fieldset>
      <Buttons {...props} />
      {complaint && (
        <p class="question-complaint" role="alert">
          {complaint}
        </p>
      )}
    </form>
  );
}

function Buttons({ state }: PartProps) {
  const isOpen = state.value.isShown || state.value.answer !== null;
  return (
    <span class="question-buttons">
      <button type="submit" class="small">
        Check
      </button>
      {isOpen ? (
        <button
          type="button"
          class="small"
          onClick={() => {
            state.value = NOTHING;
          }}
        >
          Begin again
        </button>
      ) : (
        <button
          type="button"
          class="small"
          onClick={() => {
            state.value = { ...state.value, isShown: true, complaint: null };
          }}
        >
          Show me
        </button>
      )}
    </span>
  );
}

const countsOf = ({ horses, cycles }: Worked): string =>
  [
    ...(horses === null ? [] : [`${formatNumber(horses)} ${horses === 1 ? 'horse' : 'horses'}`]),
    ...(cycles === null ? [] : [`${formatNumber(cycles)} ${cycles === 1 ? 'trim cycle' : 'trim cycles'}`]),
  ].join(', ');

function Ways({
  body,
  herd,
  lengths,
  result,
}: Omit<PartProps, 'state'> & { readonly result: QuestionResult }) {
  const words = figureWords(body, lengths);
  return (
    <table class="question-ways">
      <caption>
        Ways of answering{body.unit && `, ${shownUnit(lengths, body.unit)}`}, worked out from the herd that is
        open
      </caption>
      <thead>
        <tr>
          <th scope="col">Way</th>
          <th scope="col">Answer</th>
          <th scope="col">95 % interval</th>
          <th scope="col">From</th>
        </tr>
      </thead>
      <tbody>
        {[result.naive, result.right].map((way) => (
          <tr key={way.words}>
            <th scope="row">{way.words}</th>
            <td>{way.estimate === null ? 'cannot be told here' : words.figure(way.estimate)}</td>
            <td>{way.low === null || way.high === null ? '–' : words.range(way.low, way.high)}</td>
            <td>{countsOf(way)}</td>
          </tr>
        ))}
        <tr>
          <th scope="row">The truth put into the herd</th>
          <td colSpan={3}>{truthWords(body, herd, lengths)}</td>
        </tr>
      </tbody>
    </table>
  );
}

/** The question; room for the answer; what is to be said about it once it was given or asked for. */
export function QuestionEntry({
  entry,
  result,
}: {
  readonly entry: EntryOf<'question'>;
  readonly result: QuestionResult;
}) {
  const lengths = useContext(ShownLengthContext);
  const { body } = entry;
  const { herd } = result;
  if (herd === null) {
    return (
      <div class="question">
        <p class="question-ask">{body.ask}</p>
        <p class="nothing">To answer, open one of the herds above, with all its horses in view.</p>
      </div>
    );
  }
  const state = givenTo(entry, herd);
  const { answer, isShown } = state.value;
  const part = { body, herd, state, lengths };
  const verdict = answer === null ? null : checkAnswer(body, herd, answer, result.naive, lengths);
  return (
    <div class="question">
      <p class="question-ask">{body.ask}</p>
      {body.kind === 'number' ? <NumberField {...part} /> : <ChoiceField {...part} />}
      <div aria-live="polite">
        {verdict && (
          <p class={verdict.right ? 'question-verdict is-right' : 'question-verdict'}>{verdict.sentence}</p>
        )}
        {(verdict || isShown) && (
          <>
            <Ways {...{ body, herd, lengths, result }} />
            <p class="question-why">{body.answers[herd]!.explain}</p>
          </>
        )}
      </div>
    </div>
  );
}

/** Which of the herds is open, and a button for each that is not. */
export function SamplesEntry({
  entry,
  result,
}: {
  readonly entry: EntryOf<'samples'>;
  readonly result: SamplesResult;
}) {
  const open = useContext(OpenSampleContext);
  const here = entry.body.herds.find(({ herd }) => herd === result.herd);
  return (
    <div class="samples">
      <p>
        {here
          ? `Open now: ${here.label}. Answer the questions, then open the other.`
          : 'Neither of these herds is open, or not all of one is in view.'}
      </p>
      <p class="samples-buttons">
        {entry.body.herds.map(({ herd, open: name, label }) => (
          <button
            key={herd}
            type="button"
            class="small"
            disabled={open === null || herd === result.herd}
            onClick={() => open?.(name)}
          >
            {herd === result.herd
              ? `${label} is open`
              : `Open ${label.charAt(0).toLowerCase()}${label.slice(1)}`}
          </button>
        ))}
      </p>
    </div>
  );
}
