// `npm test`: install if need be, then type check, lint, licences, unit tests, build, browser tests. Every step runs,
// so that one run tells all; the last line counts the tests.
import { mkdirSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { attempt, install, ROOT } from './install.mjs';
import { browserCounts, countsLine, totalCounts, unitCounts } from './test-counts.mjs';

install({ everything: true });
// From the project's folder, in which every step runs.
const out = 'tests/browser/.output';
const reports = { unit: `${out}/unit.json`, browser: `${out}/report.json` };
mkdirSync(join(ROOT, out), { recursive: true });
// A report of an earlier run must not be taken for one of this.
for (const path of Object.values(reports)) rmSync(join(ROOT, path), { force: true });

const steps = [];
step('types', 'npx', ['tsc', '--noEmit']);
step('format and lint', 'npx', ['biome', 'ci', '--error-on-warnings', '.']);
step('licences', 'node', ['src/tasks/licences.mjs', '--quiet']);
step(
  'unit tests',
  'npx',
  [
    'vitest',
    'run',
    '--retry=1',
    '--reporter=default',
    '--reporter=json',
    `--outputFile.json=${reports.unit}`,
  ],
  () => unitCounts(readReport(reports.unit)),
);
const built = step('build', 'npx', ['vite', 'build', '--logLevel', 'warn']);
if (built) {
  step('browser tests', 'npx', ['playwright', 'test', '--config', 'tests/browser/playwright.config.ts'], () =>
    browserCounts(readReport(reports.browser)),
  );
}

console.log('');
for (const { title, ok, seconds } of steps) {
  console.log(`${ok ? 'ok    ' : 'FAILED'} ${seconds.toFixed(1).padStart(7)} s  ${title}`);
}
// Last, where whoever sees only the end of a long log finds them.
const failures = steps.flatMap(({ counts }) => counts?.failures ?? []);
if (failures.length > 0) console.log(`\nfailed:\n${failures.join('\n')}`);
const again = steps.flatMap(({ counts }) => counts?.again ?? []);
if (again.length > 0) console.log(`\npassed only when tried again:\n${again.join('\n')}`);
console.log(`\n${countsLine(totalCounts(steps))}`);
process.exitCode = steps.every(({ ok }) => ok) ? 0 : 1;

function step(title, command, args, counts = () => null) {
  console.log(`\n== ${title}`);
  const began = performance.now();
  const isEnded = attempt(command, args) === 0;
  const seconds = (performance.now() - began) / 1000;
  const counted = counts();
  const ok = isEnded && !counted?.failed;
  steps.push({ title, ok, seconds, counts: counted });
  return ok;
}

function readReport(path) {
  try {
    return JSON.parse(readFileSync(join(ROOT, path), 'utf8'));
  } catch {
    return null;
  }
}
