import { expect, test } from 'vitest';
import { staysWithHorse } from '../../src/sheet/derived-column.ts';

test.each([
  ['toe_before_mm / heel_before_mm', true],
  ['lag(visit_date) OVER (PARTITION BY horse_id, foot ORDER BY visit_date)', true],
  ['avg(toe_before_mm) over (partition by foot, "horse_id")', true],
  ['sum(1) OVER (PARTITION BY foot_key)', true],
  ['avg(toe_before_mm) OVER (PARTITION BY foot ORDER BY horse_id)', false],
  ['avg(toe_before_mm) OVER ()', false],
  ['rank() OVER (ORDER BY horse_id)', false],
  ['avg(toe_before_mm) OVER (PARTITION BY left(horse_id, 1))', false],
  ['avg(toe_before_mm) OVER (PARTITION BY horse_id || foot)', false],
  ["lag(visit_date) OVER (PARTITION BY horse_id) || 'x' || count(*) OVER (PARTITION BY foot)", false],
])('%s looks no further than its horse: %s', (expression, stays) => {
  expect(staysWithHorse(expression)).toBe(stays);
});
