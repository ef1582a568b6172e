// `npm run licences`: every package of the lock file under its licence; fails on one that is unknown or not accepted.
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { ROOT } from './install.mjs';
import { isAccepted, statedLicence } from './licence-terms.mjs';

const quiet = process.argv.includes('--quiet');
const { packages } = JSON.parse(readFileSync(join(ROOT, 'package-lock.json'), 'utf8'));
const byLicence = new Map();
const refused = [];
for (const [path, locked] of Object.entries(packages)) {
  if (path === '') continue;
  const name = path.replace(/^.*node_modules\//, '');
  const licence = locked.license ?? statedLicence(ownDescription(path));
  if (licence === null || !isAccepted(licence))
    refused.push(`${name} ${locked.version}: ${licence ?? 'none stated'}`);
  const key = licence ?? 'none stated';
  byLicence.set(key, [
    ...(byLicence.get(key) ?? []),
    `${name} ${locked.version}${locked.dev ? ' (tests and tools)' : ''}`,
  ]);
}
for (const licence of [...byLicence.keys()].sort()) {
  const names = byLicence.get(licence);
  if (quiet) continue;
  console.log(`\n${licence} (${names.length})`);
  for (const name of names.sort()) console.log(`  ${name}`);
}
if (refused.length > 0) {
  console.error(
    `\nPackages whose licence must be looked at before they are used:\n  ${refused.join('\n  ')}`,
  );
  process.exitCode = 1;
} else {
  console.log(`${Object.keys(packages).length - 1} packages under ${byLicence.size} licences, all accepted.`);
}

/** What the package says of itself, where it is installed: the lock file lacks the older forms. */
function ownDescription(path) {
  try {
    return JSON.parse(readFileSync(join(ROOT, path, 'package.json'), 'utf8'));
  } catch {
    return undefined;
  }
}
