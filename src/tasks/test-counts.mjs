import { stripVTControlCharacters } from 'node:util';

/**
 * Tests that passed, failed and were skipped in a report of the unit tests (Vitest's JSON); null where it is missing. Of a
 * whole run one test may need a second try, since a loaded machine is late now and then; it is named in `again`. With more
 * of them none counts as passed.
 */
export function unitCounts(report) {
  if (!report) return null;
  // A file that cannot be loaded has no tests to fail: it counts as one.
  const unloadable = report.testResults.filter(
    (file) => file.status === 'failed' && !file.assertionResults.some((test) => test.status === 'failed'),
  ).length;
  const again = report.testResults.flatMap(againOf);
  const late = again.length > MOST_AGAIN ? again.length : 0;
  return {
    passed: report.numPassedTests - late,
    failed: report.numFailedTests + unloadable + late,
    skipped: report.numPendingTests + (report.numTodoTests ?? 0),
    again,
    failures: report.testResults.flatMap(failuresOf),
  };
}

const MOST_AGAIN = 1;

/** One that passed and has failures to tell of failed first. */
function againOf({ name: file, assertionResults }) {
  return assertionResults
    .filter((test) => test.status === 'passed' && (test.failureMessages ?? []).length > 0)
    .map((test) => named(file, test));
}

/** The name of each test of a file that failed, and the first lines of why; of a file that cannot be loaded why not. */
function failuresOf({ name: file, status, message, assertionResults }) {
  if (status !== 'failed') return [];
  const failed = assertionResults.filter((test) => test.status === 'failed');
  if (failed.length === 0) return [`${file}\n${opening(message)}`];
  return failed.map((test) => named(file, test));
}

const named = (file, { fullName, failureMessages }) =>
  `${file}: ${fullName}\n${opening(failureMessages?.join('\n'))}`;

const MOST_LINES = 8;

function opening(text = '') {
  const lines = stripVTControlCharacters(text).split('\n').slice(0, MOST_LINES);
  return lines.map((line) => `  ${line}`).join('\n');
}

/** The same for the browser tests (Playwright's JSON). */
export function browserCounts(report) {
  if (!report) return null;
  const { expected, unexpected, flaky, skipped } = report.stats;
  const isFew = flaky <= MOST_AGAIN;
  return {
    passed: expected + (isFew ? flaky : 0),
    failed: unexpected + (isFew ? 0 : flaky),
    skipped,
    again: (report.suites ?? []).flatMap((suite) => ofStatus('flaky', suite)),
    failures: (report.suites ?? []).flatMap((suite) => ofStatus('unexpected', suite)),
  };
}

function ofStatus(status, { file, specs = [], suites = [] }) {
  const here = specs
    .filter((spec) => spec.tests.some((test) => test.status === status))
    .map((spec) => `${file}: ${spec.title}`);
  return [...here, ...suites.flatMap((suite) => ofStatus(status, suite))];
}

/**
 * The closing counts over all steps. A step that failed without a failed test to show for it (types, lint, a build, a
 * runner that died) counts as one failure.
 */
export function totalCounts(steps) {
  const total = { passed: 0, failed: 0, skipped: 0 };
  for (const { ok, counts } of steps) {
    total.passed += counts?.passed ?? 0;
    total.skipped += counts?.skipped ?? 0;
    const failed = counts?.failed ?? 0;
    total.failed += ok ? failed : Math.max(failed, 1);
  }
  return total;
}

/** `812 passed, 0 failed, 1 skipped` */
export function countsLine({ passed, failed, skipped }) {
  return `${passed} passed, ${failed} failed, ${skipped} skipped`;
}
