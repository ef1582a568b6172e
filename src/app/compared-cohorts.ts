import { cohortWhere, cohortWords } from './cohort.ts';
import { COHORT_COLUMNS, type Cohort, type CohortColumn, EVERYONE } from './cohort-choice.ts';
import type { HerdSummary } from './herd-service.ts';

/** A cohort that a page can be computed for a second time. */
export interface ComparedCohort {
  readonly key: string;
  readonly group: string;
  readonly label: string;
  readonly words: string;
  readonly where: string;
}

/**
 * What a page's cohort can be compared with: the whole herd, cohorts saved by name, and each level of each column by
 * which a herd is narrowed.
 */
export function comparedCohorts(
  summary: HerdSummary,
  saved: readonly { readonly name: string; readonly cohort: Cohort }[],
): ComparedCohort[] {
  const levels = (Object.keys(COHORT_COLUMNS) as CohortColumn[]).flatMap((column) =>
    summary.levels[column].length < 2
      ? []
      : summary.levels[column].map(({ value, horses }): ComparedCohort => {
          const cohort: Cohort = { ...EVERYONE, levels: { [column]: [value] } };
          return {
            key: `${column} ${value}`,
            group: COHORT_COLUMNS[column],
            label: `${value} (${horses} ${horses === 1 ? 'horse' : 'horses'})`,
            words: cohortWords(cohort),
            where: cohortWhere(cohort),
          };
        }),
  );
  return [
    { key: 'all', group: 'Herd', label: 'the whole herd', words: cohortWords(EVERYONE), where: 'TRUE' },
    ...saved.flatMap(({ name, cohort }): ComparedCohort[] => {
      const where = whereOf(cohort);
      const saved = { key: `saved ${name}`, group: 'Saved cohorts', label: name, words: name };
      return where === null ? [] : [{ ...saved, where }];
    }),
    ...levels,
  ];
}

/** Null where a saved cohort is no condition. */
function whereOf(cohort: Cohort): string | null {
  try {
    return cohortWhere(cohort);
  } catch {
    return null;
  }
}
