import { expect, test } from 'vitest';
import { cohortWhere, cohortWords } from '../../src/app/cohort.ts';
import { EVERYONE, isEveryone } from '../../src/app/cohort-choice.ts';
import { dayFromIso } from '../../src/core/civil-day.ts';

test('the whole herd is no condition at all', () => {
  expect(cohortWhere(EVERYONE)).toBe('TRUE');
  expect(isEveryone({ levels: { breed_type: [] }, from: null, to: null })).toBe(true);
});

test('levels of one column are alternatives, columns narrow each other, text is quoted', () => {
  const cohort = {
    levels: { breed_type: ['draft', 'pony'], client_id: ["O'Hara’s"] },
    from: dayFromIso('2024-01-01'),
    to: null,
  };
  expect(cohortWhere(cohort)).toBe(
    `"breed_type" IN ('draft', 'pony') AND "client_id" IN ('O''Hara’s') AND visit_date >= DATE '2024-01-01'`,
  );
  expect(cohortWords(cohort)).toBe("breed type draft or pony; client O'Hara’s; from 2024-01-01");
});
