/** The problems a record can hold, each present from a grade of 1 on: the project's own case definition. */
export const PROBLEMS = [
  { key: 'separation', label: 'separation', column: 'separation_grade' },
  { key: 'frog_infection', label: 'frog infection', column: 'fungal_frog_grade' },
  { key: 'wall_infection', label: 'wall infection', column: 'fungal_wall_grade' },
  { key: 'crack', label: 'crack', column: 'crack_grade' },
  { key: 'tenderness', label: 'tenderness', column: 'sensitivity' },
] as const;

export type ProblemKey = (typeof PROBLEMS)[number]['key'];
export const PROBLEM_KEYS = PROBLEMS.map((problem) => problem.key) as [ProblemKey, ...ProblemKey[]];

export function problemLabel(key: ProblemKey): string {
  return PROBLEMS.find((problem) => problem.key === key)?.label ?? key;
}

/** The case definition, to stand wherever a share or a rate of a problem is shown. */
export const CASE_DEFINITION =
  'A problem counts as present from grade 1 on, as graded by the practitioner on this notebook’s own 0–3 scale; shares are not comparable with work that counts otherwise.';
