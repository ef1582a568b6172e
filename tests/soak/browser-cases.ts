import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { casesOfReport } from './browser-report.ts';
import type { Ledger } from './ledger.ts';
import type { Outcome } from './messages.ts';

const ROOT = fileURLToPath(new URL('../../', import.meta.url));
/** Cases of one browser, so that a long run that is stopped loses few; each slice of faults has a seed of its own. */
const SLICE = 25;

/** The test that does so much harm, and the variables that say how much and by which seed. */
const TESTS = {
  faults: { file: 'faults.spec.ts', grep: 'faults in the middle of something', many: 'GROWOUT_FAULTS' },
  kills: { file: 'keeping-crash.spec.ts', grep: 'a tab killed', many: 'GROWOUT_KILLS' },
} as const;

/** Runs the browser's own tests in their long form, slice by slice, on the program as it was built. */
export async function browserCases(
  part: keyof typeof TESTS,
  first: number,
  many: number,
  ledger: Ledger,
  tell: (outcome: Outcome) => void,
): Promise<void> {
  if (!existsSync(join(ROOT, 'dist', 'index.html')))
    throw new Error('the program must be built before the browser is tried: npm run build');
  // From the beginning of a slice, so that the same numbers are the same cases.
  for (let from = first - (first % SLICE); from < first + many; from += SLICE) {
    const cases = Math.min(SLICE, first + many - from);
    if (Array.from({ length: cases }, (_, k) => from + k).every((n) => ledger.has(part, n))) continue;
    for (const outcome of await oneBrowser(part, from, cases)) tell(outcome);
  }
}

async function oneBrowser(part: keyof typeof TESTS, from: number, cases: number): Promise<Outcome[]> {
  const { file, grep, many } = TESTS[part];
  const folder = mkdtempSync(join(tmpdir(), 'soak-browser-'));
  const report = join(folder, 'report.json');
  const child = spawn(
    process.execPath,
    [
      'node_modules/@playwright/test/cli.js',
      'test',
      '--config',
      'tests/browser/playwright.config.ts',
      '--retries=0',
      file,
      '-g',
      grep,
    ],
    {
      cwd: ROOT,
      env: {
        ...process.env,
        [many]: String(cases),
        GROWOUT_SEED: String(from + 1),
        PLAYWRIGHT_JSON_OUTPUT_FILE: report,
      },
      stdio: ['ignore', 'pipe', 'pipe'],
    },
  );
  let said = '';
  for (const stream of [child.stdout, child.stderr])
    stream.on('data', (piece) => {
      said += piece;
    });
  await new Promise((resolve) => child.on('close', resolve));
  const text = existsSync(report) ? readFileSync(report, 'utf8') : null;
  rmSync(folder, { recursive: true });
  return casesOfReport(part, from, cases, text, said.slice(-600));
}
