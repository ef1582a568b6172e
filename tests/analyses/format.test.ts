import { expect, it } from 'vitest';
import {
  asSentence,
  countsText,
  figure,
  interval95,
  percent,
  percentRange,
  quantity,
  shareInterval95,
  tied,
} from '../../src/analyses/format.ts';

const NBSP = '\u00a0';

it('writes figures with grouped thousands, a true minus sign, and no minus before nothing', () => {
  expect(figure(6310)).toBe('6,310');
  expect(figure(-0.42, 2)).toBe('−0.42');
  expect(figure(-0.001, 2)).toBe('0.00');
});

it('keeps a figure and its unit on one line', () => {
  expect(percent(0.1234, 1)).toBe(`12.3${NBSP}%`);
  expect(percentRange(0.1, 0.2)).toBe(`10 to 20${NBSP}%`);
  expect(quantity(8.159, 'mm per 30 days', 2)).toBe(`8.16${NBSP}mm per 30 days`);
  expect(quantity(0.35, '° per 30 days', 2)).toBe('0.35° per 30 days');
  expect(interval95(7.2, 8.1, 1)).toBe(`95${NBSP}% 7.2 to 8.1`);
  expect(shareInterval95(0.07, 0.081, 1)).toBe(`95${NBSP}% 7.0 to 8.1${NBSP}%`);
  expect(tied('5 mm per 30 days, 95 % by 90 days at 6 weeks')).toBe(
    `5${NBSP}mm per 30${NBSP}days, 95${NBSP}% by 90${NBSP}days at 6${NBSP}weeks`,
  );
  // Words that only begin like a unit, and letters that are not one, stay as they are.
  expect(tied('3 mmx and 4 daysies')).toBe('3 mmx and 4 daysies');
});

it('begins a sentence with a capital and ends it with a stop, once', () => {
  expect(asSentence('no mark was read')).toBe('No mark was read.');
  expect(asSentence('No mark was read.')).toBe('No mark was read.');
});

it('counts one of a thing as one', () => {
  expect(countsText({ horses: 1, feet: 2, cycles: 1 })).toBe('1 horse, 2 feet, 1 trim cycle');
});
