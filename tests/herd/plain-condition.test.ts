import { expect, test } from 'vitest';
import { isPlainCondition } from '../../src/herd/relations.ts';

test.each([
  'TRUE',
  `"terrain" IN ('firm', 'it''s; -- (so') AND visit_date >= DATE '2024-01-01'`,
  "NOT (foot = 'LF' OR Breed_Type IS NULL)",
])('a comparison of columns with constants is plain: %s', (where) => {
  expect(isPlainCondition(where)).toBe(true);
});

test.each([
  '',
  'TRUE) OR (TRUE',
  "terrain = 'firm",
  "terrain = 'firm'; DROP TABLE foot_row",
  "terrain = 'firm' -- at its end",
  'row_no IN (SELECT row_no FROM foot_visit_all)',
  'terrain = (FROM today)',
  "lower(terrain) = 'firm'",
  "terrain('firm')",
  "cut_class = 'much'",
  '"cut class" IS NULL',
  'visit_date > $day',
])('anything more is not: %s', (where) => {
  expect(isPlainCondition(where)).toBe(false);
});
