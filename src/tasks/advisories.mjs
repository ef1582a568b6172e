/** The statuses that `npm run vulnerabilities` ends with. */
const NONE = 0;
const FOUND = 1;
const NOT_LOOKED_UP = 2;

/**
 * What the registry's answer comes to, from what `npm audit --json` printed: the lines to show, and the status to end
 * with. No answer is not a good one: it has a status of its own.
 */
export function toldOf(printed) {
  const report = read(printed);
  if (!report?.vulnerabilities) {
    const why = [report?.message, report?.error?.summary].find((text) => text) ?? 'no answer';
    return {
      lines: [`Not looked up: the registry of packages could not be asked (${String(why).split('\n')[0]}).`],
      status: NOT_LOOKED_UP,
    };
  }
  const found = Object.values(report.vulnerabilities);
  const count = report.metadata?.dependencies?.prod ?? 'all';
  const known =
    found.length === 1
      ? '1 package with known vulnerabilities'
      : `${found.length} packages with known vulnerabilities`;
  return {
    lines: [...found.map(lineOf), `${known} among ${count} packages of the program.`],
    status: found.length === 0 ? NONE : FOUND,
  };
}

function lineOf({ name, severity, range, via, fixAvailable }) {
  const what = via.map((one) => (typeof one === 'string' ? `through ${one}` : one.title)).join('; ');
  return `${severity}: ${name} ${range}: ${what}${fixAvailable ? '' : ' (no mended version yet)'}`;
}

function read(text) {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}
