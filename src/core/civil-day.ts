/**
 * A calendar date with no clock and no time zone: whole days since 1970-01-01.
 * `Date` stands here and in the files that `tests/house` names; everything else counts days.
 */
declare const brand: unique symbol;
export type CivilDay = number & { readonly [brand]: 'CivilDay' };

const MS_PER_DAY = 86_400_000;

/** Days of a mean year (Julian: IAU), the period of everything annual here. */
export const YEAR_DAYS = 365.25;

/** Day for a year, month (1–12) and day of month; null where no such date exists (31 April, 29 February 2023). */
export function civilDay(year: number, month: number, dayOfMonth: number): CivilDay | null {
  if (!Number.isInteger(year) || !Number.isInteger(month) || !Number.isInteger(dayOfMonth)) return null;
  if (year < 1 || year > 9999) return null;
  const date = new Date(0);
  date.setUTCFullYear(year, month - 1, dayOfMonth);
  const exists =
    date.getUTCFullYear() === year && date.getUTCMonth() === month - 1 && date.getUTCDate() === dayOfMonth;
  return exists ? (Math.round(date.getTime() / MS_PER_DAY) as CivilDay) : null;
}

/** Day for ISO 8601 text `YYYY-MM-DD`; null for anything else. */
export function dayFromIso(text: string): CivilDay | null {
  const match = /^(\d{4})-(\d{2})-(\d{2})$/.exec(text);
  return match ? civilDay(Number(match[1]), Number(match[2]), Number(match[3])) : null;
}

/** ISO 8601 calendar date `YYYY-MM-DD` of a day. */
export function isoFromDay(day: number): string {
  return new Date(day * MS_PER_DAY).toISOString().slice(0, 10);
}

/** Year, month (1–12), day of month. */
export function partsOfDay(day: number): { year: number; month: number; dayOfMonth: number } {
  const date = new Date(day * MS_PER_DAY);
  return { year: date.getUTCFullYear(), month: date.getUTCMonth() + 1, dayOfMonth: date.getUTCDate() };
}

/** Made once: to make a format takes far longer than to use it. */
const LONG_DATE = new Intl.DateTimeFormat('en-GB', {
  day: 'numeric',
  month: 'long',
  year: 'numeric',
  timeZone: 'UTC',
});

/** For people: `9 March 2026`. */
export function longDate(day: number): string {
  return LONG_DATE.format(day * MS_PER_DAY);
}

/** Midnight UTC of a day, for libraries that only know `Date` (plot axes). */
export function dateOfDay(day: number): Date {
  return new Date(day * MS_PER_DAY);
}

/** Today where the user is. For the edge only: everything inside gets it passed in. */
export function localToday(now: Date = new Date()): CivilDay {
  return civilDay(now.getFullYear(), now.getMonth() + 1, now.getDate()) as CivilDay;
}

/** This instant in UTC, ISO 8601. Like `localToday` for the edge only. */
export function instantNow(): string {
  return new Date().toISOString();
}

/** For people, on their own clock: `9 Mar 2026, 14:05`. */
export function shownInstant(at: string): string {
  return new Intl.DateTimeFormat('en-GB', { dateStyle: 'medium', timeStyle: 'short' }).format(new Date(at));
}
