/** Tests that passed, failed and were skipped in a report of the unit tests (Vitest's JSON); null where it is missing. */
export function unitCounts(report) {
  if (!report) return null;
  // A file that cannot be loaded has no tests to fail: it counts as one.
  const unloadable = report.testResults.filter(
    (file) => file.status === 'failed' && !file.assertionResults.some((test) => test.status === 'failed'),
  ).length;
  return {
    passed: report.numPassedTests,
    failed: report.numFailedTests + unloadable,
    skipped: report.numPendingTests + (report.numTodoTests ?? 0),
  };
}

/** The same for the browser tests (Playwright's JSON); a test that passed only when tried again has not passed. */
export function browserCounts(report) {
  if (!report) return null;
  const { expected, unexpected, flaky, skipped } = report.stats;
  return { passed: expected, failed: unexpected + flaky, skipped };
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
