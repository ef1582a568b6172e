// `npm test`: install if need be, then type check, lint, unit tests, build, browser tests. Prints one closing line.
import { mkdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { install, ROOT, run } from './install.mjs';

install({ everything: true });
const out = join(ROOT, 'tests', 'browser', '.output');
mkdirSync(out, { recursive: true });
const step = (title, command, args) => {
  console.log(`\n== ${title}`);
  run(command, args);
};
step('types', 'npx', ['tsc', '--noEmit']);
step('format and lint', 'npx', ['biome', 'ci', '--error-on-warnings', '.']);
step('unit tests', 'npx', [
  'vitest',
  'run',
  '--reporter=default',
  '--reporter=json',
  `--outputFile.json=${join(out, 'unit.json')}`,
]);
step('build', 'npx', ['vite', 'build', '--logLevel', 'warn']);
step('browser tests', 'npx', ['playwright', 'test', '--config', 'tests/browser/playwright.config.ts']);

const unit = JSON.parse(readFileSync(join(out, 'unit.json'), 'utf8'));
const browser = JSON.parse(readFileSync(join(out, 'report.json'), 'utf8')).stats;
const passed = unit.numPassedTests + browser.expected;
const failed = unit.numFailedTests + browser.unexpected;
const skipped = unit.numPendingTests + browser.skipped;
console.log(`\n${passed} passed, ${failed} failed, ${skipped} skipped`);
