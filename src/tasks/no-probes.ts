import type { Plugin } from 'vite';

/** Packages that look, as soon as they are loaded, whether code can be made from text. They know the answer already. */
const PROBES = /^@stdlib\/assert-has-generator-support$/;
const ANSWER = '\0has-generators';

/**
 * Puts the answer in place of the question: asking it breaks the content-security policy, and the browser reports that.
 * Every browser that can run this program has generators (ECMAScript 2015).
 */
export function noProbes(): Plugin {
  return {
    name: 'growout-no-probes',
    enforce: 'pre',
    resolveId: (id) => (PROBES.test(id) ? ANSWER : null),
    load: (id) => (id === ANSWER ? 'module.exports = function hasGenerators() { return true; };' : null),
  };
}
