// `npm run vulnerabilities`: what is known against the packages of the lock file; fails on one of the program's own.
// Needs the registry: where it cannot be asked, that is said and nothing is claimed.
import { spawnSync } from 'node:child_process';
import { ROOT } from './install.mjs';

const { stdout } = spawnSync('npm', ['audit', '--omit=dev', '--json'], { cwd: ROOT, encoding: 'utf8' });
const report = read(stdout);
if (!report?.vulnerabilities) {
  const why = report?.message ?? report?.error?.summary ?? 'no answer';
  console.log(`Not looked up: the registry of packages could not be asked (${String(why).split('\n')[0]}).`);
} else {
  const found = Object.values(report.vulnerabilities);
  for (const { name, severity, range, via, fixAvailable } of found) {
    const what = via.map((one) => (typeof one === 'string' ? `through ${one}` : one.title)).join('; ');
    console.log(`${severity}: ${name} ${range}: ${what}${fixAvailable ? '' : ' (no mended version yet)'}`);
  }
  const count = report.metadata?.dependencies?.prod ?? 'all';
  console.log(`${found.length} known vulnerabilities among ${count} packages of the program.`);
  if (found.length > 0) process.exitCode = 1;
}

function read(text) {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}
