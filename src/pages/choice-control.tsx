import './list-search.css';
import { useContext, useId, useMemo, useState } from 'preact/hooks';
import type { ShownLength } from '../analyses/lengths.ts';
import { dayFromIso, longDate } from '../core/civil-day.ts';
import { readDecisions } from '../core/decision-table.ts';
import { formatNumber } from '../core/format-value.ts';
import { plain } from '../herd/plain.ts';
import type { ChoiceBody, ChoiceOption } from './entry-schemas.ts';
import type { EntryState } from './entry-state.ts';
import type { EntryOf } from './page.ts';
import type { ChoiceValue } from './page-executor.ts';
import { rangeInLengths } from './range-lengths.ts';
import { ownRules, rulesShape } from './rules-choice.ts';
import { RulesControl } from './rules-control.tsx';
import { rulesWords } from './rules-draft.ts';
import { ShownLengthContext } from './shown-lengths.ts';

interface ControlProps<Body extends ChoiceBody> {
  readonly id: string;
  readonly body: Body;
  readonly value: ChoiceValue | null;
  readonly state: EntryState;
  onChoose(value: ChoiceValue): void;
}

type BodyOf<K extends ChoiceBody['kind']> = Extract<ChoiceBody, { kind: K }>;

/** More options than this are searched by a few letters of their words. */
const MANY = 20;
/** Of more than these the first are listed: nobody looks through thousands, and the page would be drawn late for them. */
const MOST_LISTED = 200;

function ListControl({ id, body, value, state, onChoose }: ControlProps<BodyOf<'list'>>) {
  const [sought, setSought] = useState('');
  const all = state.result?.kind === 'choice' ? state.result.options : [];
  const words = plain(sought).trim();
  const found = useMemo(
    () => (words === '' ? all : all.filter(({ label }) => plain(label).includes(words))),
    [all, words],
  );
  const listed = found.slice(0, MOST_LISTED);
  const chosen = all.find((each) => each.value === value);
  const options = !chosen || listed.includes(chosen) ? listed : [...listed, chosen];
  const choice = (
    <select
      id={id}
      value={String(value ?? '')}
      disabled={options.length === 0}
      onChange={(event) => {
        const chosen = options.find((each) => String(each.value) === event.currentTarget.value);
        if (chosen) onChoose(chosen.value);
      }}
    >
      {options.map((each) => (
        <option key={String(each.value)} value={String(each.value)}>
          {each.label}
        </option>
      ))}
    </select>
  );
  if (all.length <= MANY) return choice;
  const [first] = found;
  return (
    <span class="long-list">
      {choice}
      <input
        type="search"
        class="list-search"
        aria-label={`Find in ${body.label}`}
        placeholder="Find by a few letters"
        value={sought}
        onInput={(event) => setSought(event.currentTarget.value)}
        onKeyDown={(event) => {
          if (event.key !== 'Enter' || words === '' || !first) return;
          event.preventDefault();
          setSought('');
          onChoose(first.value);
        }}
      />
      <span class="soft" role="status">
        {words !== ''
          ? foundWords(found)
          : all.length > MOST_LISTED && `the first ${MOST_LISTED} of ${formatNumber(all.length)} are listed`}
      </span>
    </span>
  );
}

function foundWords(found: readonly ChoiceOption[]): string {
  const [first] = found;
  if (!first) return 'none so called';
  return found.length === 1
    ? `${first.label}: press Enter`
    : `${formatNumber(found.length)} found, ${first.label} first`;
}

function RangeControl({ id, body, value, onChoose }: ControlProps<BodyOf<'range'>>) {
  // While it is being dragged only the figure follows; what depends on it is computed on release.
  const [dragged, setDragged] = useState<number | null>(null);
  const shown = dragged ?? Number(value ?? body.min);
  const scale = rangeInLengths(body, useContext(ShownLengthContext));
  return (
    <span class="range-control">
      <input
        id={id}
        type="range"
        min={scale.min}
        max={scale.max}
        step={scale.step}
        value={scale.toShown(shown)}
        aria-valuetext={scale.words(shown)}
        onInput={(event) => setDragged(scale.toValue(event.currentTarget.valueAsNumber))}
        onChange={(event) => {
          setDragged(null);
          onChoose(scale.toValue(event.currentTarget.valueAsNumber));
        }}
      />
      <output for={id}>{scale.words(shown)}</output>
    </span>
  );
}

function DateControl({ id, body, value, onChoose }: ControlProps<BodyOf<'date'>>) {
  const day = typeof value === 'string' ? dayFromIso(value) : null;
  return (
    <input
      id={id}
      type="date"
      value={String(value ?? '')}
      {...(body.min ? { min: body.min } : {})}
      {...(body.max ? { max: body.max } : {})}
      title={day === null ? '' : longDate(day)}
      onChange={(event) => {
        const { value: typed, validity } = event.currentTarget;
        if (validity.valid && dayFromIso(typed) !== null) onChoose(typed);
      }}
    />
  );
}

interface ChoiceControlProps {
  readonly entry: EntryOf<'choice'>;
  readonly state: EntryState;
  onChoose(value: ChoiceValue): void;
}

/** What is chosen, as people read it. */
export function choiceWords(
  { body }: EntryOf<'choice'>,
  { result }: EntryState,
  lengths: ShownLength,
): string {
  if (result?.kind !== 'choice' || result.value === null) return '–';
  const { value, options } = result;
  if (body.kind === 'list') return options.find((each) => each.value === value)?.label ?? String(value);
  if (body.kind === 'range') return rangeInLengths(body, lengths).words(Number(value));
  if (body.kind === 'rules') {
    const shape = rulesShape(body);
    return rulesWords(readDecisions(String(value), shape).table ?? ownRules(body), shape, lengths).join('; ');
  }
  return String(value);
}

/** A choice as a plain form control with its label. */
export function ChoiceControl({ entry, state, onChoose }: ChoiceControlProps) {
  const id = useId();
  const lengths = useContext(ShownLengthContext);
  const value = state.result?.kind === 'choice' ? state.result.value : null;
  const { body } = entry;
  const common = { id, value, state, onChoose };
  if (body.kind === 'rules') {
    return (
      <div class="choice">
        <RulesControl {...common} body={body} />
        <div class="choice-printed" aria-hidden="true">
          <p>{body.label}</p>
          {choiceWords(entry, state, lengths)
            .split('; ')
            .map((row) => (
              <p key={row}>{row}</p>
            ))}
        </div>
      </div>
    );
  }
  return (
    <div class="choice">
      <label for={id}>{body.label}</label>
      {body.kind === 'list' && <ListControl {...common} body={body} />}
      {body.kind === 'range' && <RangeControl {...common} body={body} />}
      {body.kind === 'date' && <DateControl {...common} body={body} />}
      <span class="choice-printed" aria-hidden="true">
        {choiceWords(entry, state, lengths)}
      </span>
    </div>
  );
}
