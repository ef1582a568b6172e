import type { CohortCondition, ProblemHistory } from './cohort-condition.ts';

/** What the reader clicked to narrow the herd: any of the levels of a column, all of the columns. */
export interface Cohort {
  readonly levels: Readonly<Partial<Record<CohortColumn, readonly string[]>>>;
  /** Days, both ends included; null where open. */
  readonly from: number | null;
  readonly to: number | null;
  /** On any column of the visits; all must hold. */
  readonly conditions?: readonly CohortCondition[];
  readonly histories?: readonly ProblemHistory[];
  /** A condition over the columns of a visit, for those who write SQL. */
  readonly sql?: string;
}

export const COHORT_COLUMNS = {
  breed_type: 'Breed type',
  terrain: 'Ground',
  client_id: 'Client',
  practitioner_id: 'Practitioner',
  foot_end: 'Fore or hind',
} as const;
export type CohortColumn = keyof typeof COHORT_COLUMNS;

export const EVERYONE: Cohort = { levels: {}, from: null, to: null };

export function isEveryone(cohort: Cohort): boolean {
  const { levels, from, to, conditions = [], histories = [], sql = '' } = cohort;
  const chosen = Object.values(levels).reduce((n, values) => n + (values?.length ?? 0), 0);
  return (
    chosen + conditions.length + histories.length === 0 && from === null && to === null && sql.trim() === ''
  );
}
