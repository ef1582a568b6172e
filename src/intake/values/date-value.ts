import { civilDay } from '../../core/civil-day.ts';
import { type Fault, fault } from './parsed.ts';

export type DateOrder = 'iso' | 'day-first' | 'month-first';

const MONTHS = ['jan', 'feb', 'mar', 'apr', 'may', 'jun', 'jul', 'aug', 'sep', 'oct', 'nov', 'dec'] as const;

/** What the parts of a written date can be. */
export type DateShape =
  | { readonly kind: 'sure'; readonly day: number }
  | { readonly kind: 'numeric'; readonly dayFirst: number | null; readonly monthFirst: number | null }
  | { readonly kind: 'no-such-day' }
  | { readonly kind: 'serial' }
  | { readonly kind: 'not-a-date' };

/** 00–69 as 2000–2069, 70–99 as 1970–1999 (POSIX strptime draws its line at 68/69). */
function fullYear(text: string): number {
  const year = Number(text);
  return text.length > 2 ? year : year < 70 ? 2000 + year : 1900 + year;
}

function monthNumber(word: string): number | null {
  const index = MONTHS.findIndex((m) => word.toLowerCase().startsWith(m));
  return index === -1 ? null : index + 1;
}

function sure(year: number, month: number | null, day: number): DateShape {
  if (month === null) return { kind: 'not-a-date' };
  const found = civilDay(year, month, day);
  return found === null ? { kind: 'no-such-day' } : { kind: 'sure', day: found };
}

/** No way to write a day is longer; some patterns below take long over a long run of spaces. */
const LONGEST_DATE = 100;

/** Reads a date without deciding between day-first and month-first. A time of day after it is dropped. */
export function dateShape(written: string): DateShape {
  if (written.length > LONGEST_DATE) return { kind: 'not-a-date' };
  const text = written
    .trim()
    .replace(
      /[T\s]+\d{1,2}:\d{2}(?::\d{2}(?:[.,]\d+)?)?\s*(?:[ap]\.?m\.?)?\s*(?:Z|UTC|[+-]\d{2}:?\d{2})?$/i,
      '',
    )
    .replace(/^(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,?\s+/i, '');
  const yearFirst =
    /^(\d{4})([-/.])(\d{1,2})\2(\d{1,2})$/.exec(text) ?? /^((?:19|20)\d{2})()(\d{2})(\d{2})$/.exec(text);
  if (yearFirst) return sure(Number(yearFirst[1]), Number(yearFirst[3]), Number(yearFirst[4]));
  const numeric = /^(\d{1,2})\s?([-/.])\s?(\d{1,2})\s?\2\s?(\d{4}|\d{2})$/.exec(text);
  if (numeric) {
    const [first, second, year] = [Number(numeric[1]), Number(numeric[3]), fullYear(numeric[4] as string)];
    const dayFirst = civilDay(year, second, first);
    const monthFirst = civilDay(year, first, second);
    if (dayFirst === null && monthFirst === null) return { kind: 'no-such-day' };
    if (dayFirst === monthFirst) return { kind: 'sure', day: dayFirst as number };
    return { kind: 'numeric', dayFirst, monthFirst };
  }
  const dayName = /^(\d{1,2})(?:st|nd|rd|th)?[\s.-]*([a-z]{3,9})\.?[\s,-]+(\d{4}|\d{2})$/i.exec(text);
  if (dayName)
    return sure(fullYear(dayName[3] as string), monthNumber(dayName[2] as string), Number(dayName[1]));
  const nameDay = /^([a-z]{3,9})\.?[\s-]+(\d{1,2})(?:st|nd|rd|th)?,?[\s-]+(\d{4}|\d{2})$/i.exec(text);
  if (nameDay)
    return sure(fullYear(nameDay[3] as string), monthNumber(nameDay[1] as string), Number(nameDay[2]));
  const serial = /^\d{5}(?:\.\d+)?$/.test(text) && Number(text) >= 20_000 && Number(text) <= 80_000;
  return { kind: serial ? 'serial' : 'not-a-date' };
}

/** Day since 1970-01-01. `iso` accepts only dates with one reading. */
export function parseDate(text: string, order: DateOrder): number | Fault {
  const shape = dateShape(text);
  switch (shape.kind) {
    case 'sure':
      return shape.day;
    case 'no-such-day':
      return fault('no such day in the calendar');
    case 'serial':
      return fault(
        "a spreadsheet's day number, not a date; format the column as a date there and export again",
      );
    case 'not-a-date':
      return fault('not a date');
    case 'numeric': {
      const { dayFirst, monthFirst } = shape;
      if (order === 'iso') {
        const isEither = dayFirst !== null && monthFirst !== null;
        return isEither ? fault('could be day-first or month-first') : ((dayFirst ?? monthFirst) as number);
      }
      const day = order === 'day-first' ? dayFirst : monthFirst;
      return day ?? fault(`no such day when read ${order}`);
    }
  }
}
