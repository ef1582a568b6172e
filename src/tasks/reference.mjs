// `npm run reference`: recomputes tests/reference/ with R, where R is installed. `npm test` never needs it.
import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const FOLDER = join('tests', 'reference');

/** Scripts that print their result. */
const PRINTING = [
  'audit-and-trends',
  'distributions',
  'nested-slopes',
  'shares-and-strata',
  'two-state',
  'two-state-demo',
];
/** Scripts that write it beside themselves. */
const WRITING = ['growth', 'growth-herd', 'spells', 'interval', 'frog', 'protection'].map((name) =>
  join('demo', name),
);

const run = (command, args) =>
  spawnSync(command, args, {
    cwd: ROOT,
    encoding: 'utf8',
    maxBuffer: 1e8,
    shell: process.platform === 'win32',
  });

const found = run('Rscript', ['--version']);
if (found.error || found.status !== 0) {
  console.log('Rscript is not installed here: the reference results stay as they are. Tests do not need it.');
  process.exit(0);
}

/** Runs one command; `output` is the file that it changes, given its text where the command prints it. */
function step(title, command, args, output, prints) {
  const path = output && join(ROOT, output);
  const before = path && existsSync(path) ? readFileSync(path, 'utf8') : '';
  const started = Date.now();
  const { status, stdout, stderr } = run(command, args);
  if (status !== 0) {
    // What a script half wrote must not stand as a result.
    if (path) writeFileSync(path, before);
    console.error(`${title} failed; its results stay as they were.\n${stderr}`);
    process.exit(1);
  }
  if (prints) writeFileSync(path, stdout);
  const changed = path === null ? '' : readFileSync(path, 'utf8') === before ? ', as before' : ', changed';
  console.log(`${title}: ${Math.round((Date.now() - started) / 1000)} s${changed}`);
  if (path === null) process.stdout.write(stdout.replace(/^/gm, '  ').trimEnd().concat('\n'));
}

const script = (name) => join(FOLDER, `${name}.R`);
const result = (name) => join(FOLDER, `${name}.json`);
const tsx = join('node_modules', 'tsx', 'dist', 'cli.mjs');

step('rows of the demo herd', process.execPath, [tsx, join(FOLDER, 'demo-export.ts')], null, false);
for (const name of PRINTING) step(script(name), 'Rscript', [script(name)], result(name), true);
step(
  script('time-to-return'),
  'Rscript',
  [script('time-to-return'), result('time-to-return')],
  result('time-to-return'),
  false,
);
for (const name of WRITING) step(script(name), 'Rscript', [script(name)], result(name), false);
