import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';

const folder = mkdtempSync(join(tmpdir(), 'growout-command-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** The command as a user runs it, standing in the fixtures' folder. */
function npmRunAudit(...words: string[]) {
  return spawnSync('npm', ['run', '--silent', 'audit', '--', ...words], {
    cwd: fileURLToPath(new URL('../fixtures/', import.meta.url)),
    encoding: 'utf8',
    shell: process.platform === 'win32',
  });
}

describe('npm run audit', () => {
  it('reads files from where the user stands, writes its results, and ends with status 0', {
    timeout: 240_000,
  }, () => {
    const { status, stdout, stderr } = npmRunAudit('wide-export.csv', '--out', join(folder, 'out'));
    expect(stderr).toBe('');
    expect(status).toBe(0);
    expect(stdout).toMatch(/^\d+ rows read = \d+ admitted \+ \d+ set aside\n/);
    for (const name of [
      'findings.md',
      'set-aside.csv',
      'growth.csv',
      'recurrence.csv',
      'interval-effect.csv',
    ]) {
      expect(existsSync(join(folder, 'out', name)), name).toBe(true);
    }
  });

  it('ends with status 2 and one sentence where the file is not there', { timeout: 120_000 }, () => {
    const { status, stdout, stderr } = npmRunAudit('gone.csv', '--out', join(folder, 'none'));
    expect(status).toBe(2);
    expect(stdout).toBe('');
    expect(stderr).toBe('gone.csv: there is no such file\n');
  });
});
