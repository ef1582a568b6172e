import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isoFromDay, partsOfDay } from '../../../src/core/civil-day.ts';
import { parseDate } from '../../../src/intake/values/date-value.ts';
import { isFault } from '../../../src/intake/values/parsed.ts';

function iso(text: string, order: 'iso' | 'day-first' | 'month-first' = 'iso'): string {
  const parsed = parseDate(text, order);
  return isFault(parsed) ? parsed.fault : isoFromDay(parsed);
}

describe('parseDate', () => {
  it.each([
    '2026-03-09',
    '2026/3/9',
    '2026.03.09',
    '20260309',
    '2026-03-09T14:30:00Z',
    '2026-03-09 14:30',
    '2026-03-09T23:30:00.000+02:00',
    '9 Mar 2026',
    '9th March 2026',
    '09-Mar-26',
    'March 9, 2026',
    'Mon, 9 Mar 2026',
  ])('%s has one reading', (text) => {
    expect(iso(text)).toBe('2026-03-09');
  });

  it.each(['9/3/2026', '09.03.26', '9-3-26', '09/03/2026 14:30'])('%s depends on the order', (text) => {
    expect(iso(text, 'day-first')).toBe('2026-03-09');
    expect(iso(text, 'month-first')).toBe('2026-09-03');
    expect(iso(text, 'iso')).toMatch(/could be day-first or month-first/);
  });

  it.each([
    ['17/03/2203', '2203-03-17'],
    ['3/25/2026', '2026-03-25'],
  ])('%s has one reading, there being no month above 12', (text, day) => {
    expect(iso(text)).toBe(day);
  });

  it('reads equal day and month without asking', () => {
    expect(iso('7/7/2026')).toBe('2026-07-07');
  });

  it.each([
    ['31/02/2026', /no such day/],
    ['2024-02-31', /no such day/],
    ['45/45/2026', /no such day/],
    ['46090', /day number/],
    ['46090.5', /day number/],
    ['yesterday', /not a date/],
    ['5 Smarch 2026', /not a date/],
    ['9/3', /not a date/],
  ])('%s is refused', (text, why) => {
    expect(iso(text, 'day-first')).toMatch(why);
  });

  it('does not read the other order where the chosen one gives no day', () => {
    expect(iso('3/25/2026', 'day-first')).toMatch(/no such day when read day-first/);
  });

  it('draws the line of two-digit years between 69 and 70', () => {
    expect(iso('1/1/69')).toBe('2069-01-01');
    expect(iso('1/1/70')).toBe('1970-01-01');
  });

  it('reads every written day back, in both orders', () => {
    fc.assert(
      fc.property(fc.integer({ min: 3653, max: 22_000 }), fc.constantFrom('/', '.', '-'), (day, mark) => {
        const { year, month, dayOfMonth } = partsOfDay(day);
        expect(parseDate([dayOfMonth, month, year].join(mark), 'day-first')).toBe(day);
        expect(parseDate([month, dayOfMonth, year].join(mark), 'month-first')).toBe(day);
        expect(parseDate(isoFromDay(day), 'iso')).toBe(day);
      }),
    );
  });
});
