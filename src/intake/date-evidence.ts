import type { DateEvidence, DateReading, Mapping } from './mapping.ts';
import type { RawCell, SourceColumn } from './source.ts';
import { type DateShape, dateShape } from './values/date-value.ts';

const EXAMPLES = 3;
const LONGEST = 60;
/** Up to this share of the decisive rows may speak against the order, as slips; more, and the user is asked. */
const SLIPS = 0.05;

const NO_DATES: DateEvidence = {
  sure: 0,
  onlyDayFirst: 0,
  onlyMonthFirst: 0,
  both: 0,
  unreadable: 0,
  examples: { onlyDayFirst: [], onlyMonthFirst: [], both: [] },
};

/** The order of day and month that a column's dates prove; `ask` where nothing proves one. Never a guess. */
export function dateReading(column: SourceColumn | undefined): DateReading {
  if (!column || column.type === 'day') {
    return { order: 'iso', evidence: NO_DATES, why: 'dates are stored as dates' };
  }
  const evidence = weigh(column);
  const { onlyDayFirst, onlyMonthFirst, both } = evidence;
  const decisive = onlyDayFirst + onlyMonthFirst;
  const quote = (list: readonly string[]): string => list.map((d) => `“${d}”`).join(', ');
  if (decisive + both === 0) return { order: 'iso', evidence, why: 'every date has one reading only' };
  if (decisive > 0 && Math.min(onlyDayFirst, onlyMonthFirst) <= decisive * SLIPS) {
    const dayFirst = onlyDayFirst > onlyMonthFirst;
    const [won, lost] = dayFirst ? [onlyDayFirst, onlyMonthFirst] : [onlyMonthFirst, onlyDayFirst];
    const shown = quote(dayFirst ? evidence.examples.onlyDayFirst : evidence.examples.onlyMonthFirst);
    const order = dayFirst ? 'day-first' : 'month-first';
    const against = lost > 0 ? `; ${lost} only the other way, which will be set aside` : '';
    return { order, evidence, why: `${won} dates can only be read ${order}, such as ${shown}${against}` };
  }
  const why =
    decisive === 0
      ? `all ${both} numeric dates can be read both ways, such as ${quote(evidence.examples.both)}`
      : `${onlyDayFirst} dates can only be day-first (${quote(evidence.examples.onlyDayFirst)}) and ${onlyMonthFirst} only month-first (${quote(evidence.examples.onlyMonthFirst)})`;
  return { order: 'ask', evidence, why };
}

/** The reading of a column that may hold dates: undefined where most of its filled cells are none. */
export function possibleDates(column: SourceColumn): DateReading | undefined {
  // Rows are only counted of a column that has dates.
  if (column.type !== 'day' && !column.distinct.some(isDate)) return undefined;
  const reading = dateReading(column);
  const { sure, onlyDayFirst, onlyMonthFirst, both, unreadable } = reading.evidence;
  const dates = sure + onlyDayFirst + onlyMonthFirst + both;
  return column.type === 'day' || (dates > 0 && dates >= unreadable) ? reading : undefined;
}

/** The mapping with the order of its dates told anew by the column that now holds them. */
export function withDates(mapping: Mapping): Mapping {
  const column = mapping.columns.find((c) => c.target === 'visit_date');
  const { order, evidence, why } = column?.dates ?? dateReading(undefined);
  return { ...mapping, dateOrder: order, dateEvidence: evidence, dateWhy: why, dateChosen: false };
}

/** Long texts are notes: not worth the patterns. */
const shapeOf = (text: string): DateShape =>
  text.length > LONGEST ? { kind: 'not-a-date' } : dateShape(text);

function isDate(raw: RawCell): boolean {
  const { kind } = shapeOf(String(raw ?? '').trim());
  return kind === 'sure' || kind === 'numeric';
}

function weigh(column: SourceColumn): DateEvidence {
  const { counts } = column;
  const tally = { sure: 0, onlyDayFirst: 0, onlyMonthFirst: 0, both: 0, unreadable: 0 };
  const examples = { onlyDayFirst: [] as string[], onlyMonthFirst: [] as string[], both: [] as string[] };
  column.distinct.forEach((raw, code) => {
    const text = String(raw ?? '').trim();
    if (text === '') return;
    const n = counts[code] ?? 0;
    const shape = shapeOf(text);
    if (shape.kind === 'sure') tally.sure += n;
    else if (shape.kind !== 'numeric') tally.unreadable += n;
    else {
      const way =
        shape.dayFirst === null ? 'onlyMonthFirst' : shape.monthFirst === null ? 'onlyDayFirst' : 'both';
      tally[way] += n;
      if (examples[way].length < EXAMPLES) examples[way].push(text);
    }
  });
  return { ...tally, examples };
}
