import { afterEach, describe, expect, it, vi } from 'vitest';
import { CHROMIUM_ARGUMENTS, chromiumPath } from '../../src/tasks/chromium.mjs';
import { isInstalled, type Lock, nodeProblem } from '../../src/tasks/install.mjs';
import { isAccepted, statedLicence } from '../../src/tasks/licence-terms.mjs';
import { browserCounts, countsLine, totalCounts, unitCounts } from '../../src/tasks/test-counts.mjs';

describe('installing', () => {
  it.each([
    ['20.19.0', true],
    ['20.20.2', true],
    ['22.0.0', true],
    ['20.18.3', false],
    ['18.20.4', false],
  ])('Node %s will do: %s', (version, fits) => {
    expect(nodeProblem(version) === null).toBe(fits);
    if (!fits) expect(nodeProblem(version)).toContain(version);
  });

  const lock: Lock = {
    packages: {
      '': {},
      'node_modules/a': { version: '1.0.0' },
      'node_modules/b': { version: '2.0.0', dev: true },
      'node_modules/c': { version: '3.0.0', optional: true },
    },
  };
  const there = (packages: Lock['packages']): Lock => ({ packages });

  it('is done where every package is there in its version', () => {
    const all = there({ 'node_modules/a': { version: '1.0.0' }, 'node_modules/b': { version: '2.0.0' } });
    expect(isInstalled(lock, all, { everything: true })).toBe(true);
    const some = there({ 'node_modules/a': { version: '1.0.0' } });
    expect(isInstalled(lock, some, { everything: false })).toBe(true);
    expect(isInstalled(lock, some, { everything: true })).toBe(false);
    const old = there({ 'node_modules/a': { version: '0.9.0' } });
    expect(isInstalled(lock, old, { everything: false })).toBe(false);
    expect(isInstalled(lock, there({}), { everything: false })).toBe(false);
  });
});

describe('the closing line', () => {
  const file = (name: string, status: string, ...tests: string[]) => ({
    name,
    status,
    message: status === 'failed' && tests.length === 0 ? 'no such module' : '',
    assertionResults: tests.map((each) => ({
      status: each,
      fullName: `a test that ${each}`,
      failureMessages: each === 'failed' ? ['\u001b[31mexpected 1\u001b[39m\nto be 2'] : [],
    })),
  });

  it('counts tests, and a file that could not be loaded as one that failed', () => {
    const counts = unitCounts({
      numPassedTests: 7,
      numFailedTests: 1,
      numPendingTests: 2,
      testResults: [
        file('a', 'passed', 'passed'),
        file('b', 'failed', 'passed', 'failed'),
        file('c', 'failed'),
      ],
    });
    const failures = ['b: a test that failed\n  expected 1\n  to be 2', 'c\n  no such module'];
    expect(counts).toEqual({ passed: 7, failed: 2, skipped: 2, again: [], failures });
    expect(browserCounts({ stats: { expected: 5, unexpected: 1, flaky: 0, skipped: 0 } })).toEqual({
      passed: 5,
      failed: 1,
      skipped: 0,
      again: [],
      failures: [],
    });
    expect([unitCounts(null), browserCounts(null)]).toEqual([null, null]);
  });

  it('lets one unit test of a run pass at its second try, by name, and no more', () => {
    const late = (fullName: string) => ({ status: 'passed', fullName, failureMessages: ['too late'] });
    const counts = (...assertionResults: ReturnType<typeof late>[]) =>
      unitCounts({
        numPassedTests: 9,
        numFailedTests: 0,
        numPendingTests: 0,
        testResults: [{ name: 'a', status: 'passed', assertionResults }],
      });
    const again = ['a: one\n  too late', 'a: two\n  too late'];
    const none = { skipped: 0, failures: [] };
    expect(counts(late('one'))).toEqual({ ...none, passed: 9, failed: 0, again: again.slice(0, 1) });
    expect(counts(late('one'), late('two'))).toEqual({ ...none, passed: 7, failed: 2, again });
  });

  it('lets one browser test of a run pass at its second try, by name, and no more', () => {
    const late = (title: string, status: string) => ({ title, tests: [{ status }] });
    const suites = [
      { file: 'a.spec.ts', specs: [late('in time', 'expected'), late('wrong', 'unexpected')], suites: [] },
      { file: 'b.spec.ts', suites: [{ file: 'b.spec.ts', specs: [late('late', 'flaky')] }] },
    ];
    const again = ['b.spec.ts: late'];
    expect(browserCounts({ suites, stats: { expected: 5, unexpected: 0, flaky: 1, skipped: 0 } })).toEqual({
      passed: 6,
      failed: 0,
      skipped: 0,
      again,
      failures: ['a.spec.ts: wrong'],
    });
    expect(browserCounts({ suites, stats: { expected: 5, unexpected: 1, flaky: 2, skipped: 0 } })).toEqual({
      passed: 5,
      failed: 3,
      skipped: 0,
      again,
      failures: ['a.spec.ts: wrong'],
    });
  });

  it('counts a step that died without a failed test to show', () => {
    const total = totalCounts([
      { ok: true, counts: null },
      { ok: false, counts: null },
      { ok: false, counts: { passed: 3, failed: 0, skipped: 1 } },
      { ok: false, counts: { passed: 4, failed: 2, skipped: 0 } },
    ]);
    expect(countsLine(total)).toBe('7 passed, 4 failed, 1 skipped');
  });
});

describe('licences', () => {
  it.each([
    ['MIT', true],
    ['(MPL-2.0 OR Apache-2.0)', true],
    ['Apache-2.0 AND BSL-1.0', true],
    ['MIT OR GPL-3.0-only', true],
    ['MIT AND GPL-3.0-only', false],
    ['GPL-3.0-only OR AGPL-3.0-only', false],
    ['MIT OR GPL-3.0-only AND AGPL-3.0-only', true],
    ['(MIT OR GPL-3.0-only) AND AGPL-3.0-only', false],
    ['SEE LICENSE IN FILE', false],
    ['UNLICENSED', false],
    ['(MIT', false],
    ['', false],
  ])('%s is accepted: %s', (expression, accepted) => {
    expect(isAccepted(expression)).toBe(accepted);
  });

  it('are read in every form that packages state them', () => {
    expect(statedLicence({ license: 'ISC' })).toBe('ISC');
    expect(statedLicence({ license: { type: 'MIT' } })).toBe('MIT');
    expect(statedLicence({ licenses: [{ type: 'MIT' }, 'Apache-2.0'] })).toBe('MIT OR Apache-2.0');
    expect([statedLicence({}), statedLicence(undefined), statedLicence({ licenses: [] })]).toEqual([
      null,
      null,
      null,
    ]);
  });
});

describe('the browser for tests', () => {
  afterEach(() => vi.unstubAllEnvs());

  it('is the one that was named', async () => {
    vi.stubEnv('GROWOUT_CHROMIUM', '/opt/some/chromium');
    expect(await chromiumPath()).toBe('/opt/some/chromium');
  });

  it('reaches no other host', () => {
    expect(CHROMIUM_ARGUMENTS).toContain(
      '--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost',
    );
    expect(CHROMIUM_ARGUMENTS.filter((word) => /disable-web-security/.test(word))).toEqual([]);
  });
});
