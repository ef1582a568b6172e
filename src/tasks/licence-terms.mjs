/** Licences that a package may have (SPDX identifiers): all let anyone use, change and pass on this program. */
export const ACCEPTED = new Set([
  '0BSD',
  'Apache-2.0',
  'BlueOak-1.0.0',
  'BSD-2-Clause',
  'BSD-3-Clause',
  'BSL-1.0',
  'CC0-1.0',
  'ISC',
  'MIT',
  'MIT-0',
  // Copyleft by file: changed files of the package itself must stay open; ours need not follow.
  'MPL-2.0',
  'PSF-2.0',
  'Python-2.0',
  'Unlicense',
]);

/** Does an SPDX licence expression (AND, OR, parentheses) let us use a package under accepted licences alone? */
export function isAccepted(expression) {
  const tokens = expression.match(/\(|\)|[^\s()]+/g) ?? [];
  let at = 0;
  // AND binds closer than OR (SPDX specification, annex D).
  const either = () => {
    let ok = all();
    while (tokens[at] === 'OR') {
      at++;
      ok = all() || ok;
    }
    return ok;
  };
  const all = () => {
    let ok = one();
    while (tokens[at] === 'AND') {
      at++;
      ok = one() && ok;
    }
    return ok;
  };
  const one = () => {
    const token = tokens[at++];
    if (token !== '(') return ACCEPTED.has(token);
    const ok = either();
    return tokens[at++] === ')' && ok;
  };
  const ok = either();
  return ok && at === tokens.length;
}

/** The licence a package states in its package.json, in any of the forms that have been in use; null for none. */
export function statedLicence({ license, licenses } = {}) {
  const one = (stated) => (typeof stated === 'string' ? stated : (stated?.type ?? null));
  if (license) return one(license);
  if (!Array.isArray(licenses) || licenses.length === 0) return null;
  return licenses.map(one).join(' OR ');
}
