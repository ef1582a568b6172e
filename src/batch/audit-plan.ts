import type { ProblemKey } from '../herd/problems.ts';

/** What an audit runs: each analysis with its options, in the order of `findings.md`. */
export interface PlannedRun {
  readonly use: string;
  readonly title: string;
  readonly options: Readonly<Record<string, unknown>>;
}

const PROBLEMS: readonly { readonly key: ProblemKey; readonly label: string }[] = [
  { key: 'separation', label: 'separation' },
  { key: 'frog_infection', label: 'frog infection' },
  { key: 'wall_infection', label: 'wall infection' },
];

export const AUDIT_PLAN: readonly PlannedRun[] = [
  { use: 'prevalence', title: 'Share of feet affected', options: {} },
  { use: 'growth', title: 'Growth by breed type', options: { by: 'breed_type', adjust: ['terrain'] } },
  { use: 'growth', title: 'Growth by ground', options: { by: 'terrain', adjust: ['terrain'] } },
  { use: 'wear', title: 'Growth and wear by ground', options: { by: 'terrain' } },
  { use: 'drift', title: 'Toe angle between trims by protection', options: { by: 'protection' } },
  ...PROBLEMS.flatMap(({ key, label }) =>
    [
      { by: 'breed_type', words: 'breed type' },
      { by: 'terrain', words: 'ground' },
      { by: 'season', words: 'season' },
    ].map(({ by, words }) => ({
      use: 'recurrence',
      title: `Return of ${label} by ${words}`,
      options: { problem: key, by },
    })),
  ),
  ...PROBLEMS.map(({ key, label }) => ({
    use: 'onset-clearing',
    title: `How often ${label} begins and clears, by ground`,
    options: { problem: key, by: 'terrain' },
  })),
  ...PROBLEMS.map(({ key, label }) => ({
    use: 'spells',
    title: `Spells of ${label}`,
    options: { problem: key },
  })),
  ...PROBLEMS.map(({ key, label }) => ({
    use: 'interval-effect',
    title: `Trim interval and ${label}`,
    options: { problem: key },
  })),
  { use: 'interval-plan', title: 'Interval plan', options: {} },
  { use: 'grow-out', title: 'Grow-out', options: {} },
  { use: 'caseload', title: 'Caseload', options: {} },
  { use: 'one-horse', title: 'The horse with most visits', options: {} },
  { use: 'measurement', title: 'How well the feet are measured', options: {} },
  { use: 'protection-audit', title: 'Sole protection by the common-practice rule', options: {} },
  { use: 'relief-audit', title: 'Handling separated wall', options: {} },
  { use: 'entry-points', title: 'Entry points', options: {} },
  { use: 'client-audit', title: 'Clients and separation, observed and expected', options: {} },
  {
    use: 'case-trends',
    title: 'Case trends of frog infection',
    options: { problem: 'frog_infection', by: 'moisture' },
  },
];
