// Plain JavaScript on Node's own modules: runs before anything is installed.
import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

export const ROOT = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const NEEDED = [20, 19];

/** What is wrong with this version of Node, in a sentence; null where nothing is. */
export function nodeProblem(version) {
  const [major, minor] = version.split('.').map(Number);
  if (major > NEEDED[0] || (major === NEEDED[0] && minor >= NEEDED[1])) return null;
  return `Growout needs Node.js ${NEEDED.join('.')} or newer; this is ${version}.`;
}

/**
 * Is every package that the lock file names there, in its version? `installed` is npm's own record of what stands in
 * node_modules. Optional packages are for some machines only, and looked at by npm alone.
 */
export function isInstalled(lock, installed, { everything }) {
  return Object.entries(lock.packages).every(
    ([path, wanted]) =>
      path === '' ||
      wanted.optional ||
      wanted.devOptional ||
      (wanted.dev && !everything) ||
      installed.packages[path]?.version === wanted.version,
  );
}

/** Installs what the lock file names, unless that is already so. `everything` adds what only tests need. */
export function install({ everything }) {
  const problem = nodeProblem(process.versions.node);
  if (problem) {
    console.error(problem);
    process.exit(1);
  }
  const lock = readJson('package-lock.json');
  const installed = readJson('node_modules/.package-lock.json');
  if (lock && installed && isInstalled(lock, installed, { everything })) return;
  // To the error stream: what a command prints for a script to read stays clean.
  console.error('Installing what Growout needs (once) …');
  // No package's install script is needed, so none is run.
  const flags = ['--no-audit', '--no-fund', '--ignore-scripts', '--loglevel=error'];
  run('npm', ['ci', ...flags, everything ? '--include=dev' : '--omit=dev'], {
    stdio: ['ignore', 2, 'inherit'],
  });
}

function readJson(path) {
  try {
    return JSON.parse(readFileSync(join(ROOT, path), 'utf8'));
  } catch {
    return null;
  }
}

/** Runs a command in the project's folder and ends this process with its status if it fails. */
export function run(command, args, options = {}) {
  const status = attempt(command, args, options);
  if (status !== 0) process.exit(status);
}

/** Runs a command in the project's folder; its exit status. */
export function attempt(command, args, options = {}) {
  const result = spawnSync(command, args, {
    cwd: ROOT,
    stdio: 'inherit',
    shell: process.platform === 'win32',
    ...options,
  });
  if (result.error) console.error(`${command}: ${result.error.message}`);
  return result.status ?? 1;
}
