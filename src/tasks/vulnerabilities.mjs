// `npm run vulnerabilities`: what is known against the packages of the lock file. Ends with 1 where one of the program's
// own has a known vulnerability, and with 2 where the registry could not be asked: then nothing is claimed.
import { spawnSync } from 'node:child_process';
import { toldOf } from './advisories.mjs';
import { ROOT } from './install.mjs';

const { stdout } = spawnSync('npm', ['audit', '--omit=dev', '--json'], { cwd: ROOT, encoding: 'utf8' });
const { lines, status } = toldOf(stdout);
console.log(lines.join('\n'));
process.exitCode = status;
