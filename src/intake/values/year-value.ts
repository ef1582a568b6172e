import { type Fault, fault } from './parsed.ts';

/** A calendar year: `2014`, `2014.0`; of a whole date with a four-digit year, its year. */
export function parseYear(text: string): number | Fault {
  const year =
    /^(\d{4})(?:[.,]0+)?$/.exec(text.trim())?.[1] ??
    /^(\d{4})-\d{2}-\d{2}/.exec(text.trim())?.[1] ??
    /^\d{1,2}[-/.]\d{1,2}[-/.](\d{4})$/.exec(text.trim())?.[1];
  return year === undefined ? fault('not a year') : Number(year);
}
