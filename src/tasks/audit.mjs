// `npm run audit`: install if need be, then the audit command. Its exit status is this one's.
import { fileURLToPath } from 'node:url';
import { attempt, install } from './install.mjs';

install({ everything: false });
const main = fileURLToPath(new URL('../batch/main.ts', import.meta.url));
process.exitCode = attempt(
  process.execPath,
  ['--import', import.meta.resolve('tsx'), main, ...process.argv.slice(2)],
  // npm runs scripts in the project's folder; file names are meant from where the user stands.
  { cwd: process.env.INIT_CWD ?? process.cwd(), shell: false },
);
