import type { Outcome, Part } from './messages.ts';

/** What is read of Playwright's report in JSON: suites within suites. */
interface Suite {
  readonly suites?: readonly Suite[];
  readonly specs?: readonly { readonly tests: readonly { readonly results: readonly Result[] }[] }[];
}
interface Result {
  readonly status: string;
  readonly annotations?: readonly { readonly type: string; readonly description?: string }[];
  readonly errors?: readonly { readonly message?: string }[];
}
interface Report extends Suite {
  readonly errors?: readonly { readonly message?: string }[];
}

/**
 * The cases of one browser's test, numbered from `from`. The test notes each that was survived, as `1200 ms: what was
 * done`; where it failed, the next is the one that did the harm, and nothing is said of those not tried.
 */
export function casesOfReport(
  part: Part,
  from: number,
  cases: number,
  reportText: string | null,
  said: string,
): Outcome[] {
  const report = reportText === null ? null : (JSON.parse(reportText) as Report);
  const results = report ? resultsOf(report) : [];
  const survived = results
    .flatMap(({ annotations }) => annotations ?? [])
    .filter(({ type }) => type === 'survived')
    .map(({ description = '' }, k): Outcome => {
      const [, ms, kind] = /^(\d+) ms: (.*)$/.exec(description) ?? [];
      return {
        part,
        n: from + k,
        kinds: [kind ?? description],
        ms: Number(ms ?? 0),
        faults: [],
        counts: { confirmed: 1, lost: 0 },
      };
    });
  const errors = [...(report?.errors ?? []), ...results.flatMap((result) => result.errors ?? [])];
  const isWhole = results.length === 1 && results[0]?.status === 'passed' && survived.length === cases;
  // Errors beside a test that passed: of the network's log, which is read after the last test.
  if (isWhole && errors.length === 0) return survived;
  const why = errors.map(({ message }) => message ?? '').join('; ');
  const fault = why || said || 'the browser’s test gave no report';
  // Where all were survived, what failed is what the test looks at last: requests, the console.
  const n = from + Math.min(survived.length, cases - 1);
  const harm = { part, n, kinds: ['that did harm'], ms: 0, faults: [fault.slice(0, 600)], counts: {} };
  return [...survived.filter((one) => one.n !== n), harm];
}

function resultsOf({ suites = [], specs = [] }: Suite): Result[] {
  return [
    ...specs.flatMap(({ tests }) => tests.flatMap(({ results }) => results)),
    ...suites.flatMap(resultsOf),
  ];
}
