// Plain JavaScript on Node's own modules: runs before anything is installed.
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

export const ROOT = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const NEEDED = [20, 19];

/** Installs what the lock file names, unless that is already so. `everything` adds what only tests need. */
export function install({ everything }) {
  const [major, minor] = process.versions.node.split('.').map(Number);
  if (major < NEEDED[0] || (major === NEEDED[0] && minor < NEEDED[1])) {
    console.error(`Growout needs Node.js ${NEEDED.join('.')} or newer; this is ${process.versions.node}.`);
    process.exit(1);
  }
  const lock = createHash('sha256')
    .update(readFileSync(join(ROOT, 'package-lock.json')))
    .digest('hex');
  const stamp = join(ROOT, 'node_modules', '.growout-installed');
  const installed = existsSync(stamp) ? readFileSync(stamp, 'utf8') : '';
  if (installed === `${lock} everything` || (!everything && installed === `${lock} to start`)) return;
  console.log('Installing what Growout needs (once) …');
  run('npm', ['ci', '--no-audit', '--no-fund', ...(everything ? ['--include=dev'] : ['--omit=dev'])]);
  mkdirSync(dirname(stamp), { recursive: true });
  writeFileSync(stamp, `${lock} ${everything ? 'everything' : 'to start'}`);
}

/** Runs a command in the project's folder and ends this process with its status if it fails. */
export function run(command, args, options = {}) {
  const result = spawnSync(command, args, {
    cwd: ROOT,
    stdio: 'inherit',
    shell: process.platform === 'win32',
    ...options,
  });
  if (result.error) console.error(`${command}: ${result.error.message}`);
  if (result.status !== 0) process.exit(result.status ?? 1);
}
