import { expect, it } from 'vitest';
import { toldOf } from '../../src/tasks/advisories.mjs';

/** In the form of npm 10 (`auditReportVersion` 2); the packages and the flaw are invented. */
const answer = (vulnerabilities: object, prod = 62): string =>
  JSON.stringify({ auditReportVersion: 2, vulnerabilities, metadata: { dependencies: { prod } } });

it('an answer that knows of nothing is good', () => {
  expect(toldOf(answer({}))).toEqual({
    lines: ['0 packages with known vulnerabilities among 62 packages of the program.'],
    status: 0,
  });
});

it('an answer that knows of something names it, and fails', () => {
  const flaw = { title: 'reads past the end', severity: 'high' };
  const own = { name: 'a', severity: 'high', range: '<2', via: [flaw], fixAvailable: true };
  const through = { name: 'b', severity: 'low', range: '*', via: ['a'], fixAvailable: false };
  expect(toldOf(answer({ a: own, b: through }))).toEqual({
    lines: [
      'high: a <2: reads past the end',
      'low: b *: through a (no mended version yet)',
      '2 packages with known vulnerabilities among 62 packages of the program.',
    ],
    status: 1,
  });
});

/** As npm 10 printed it of an address where nothing answers. */
const NO_NETWORK =
  'request to http://127.0.0.1:9/-/npm/v1/security/advisories/bulk failed, reason: connect ECONNREFUSED 127.0.0.1:9';

it.each([
  [
    'refused',
    // As it was printed on 29 November 2026 behind a registry that may only be read from.
    JSON.stringify({
      message: '405 Method Not Allowed - POST https://registry.npmjs.org/-/npm/v1/security/advisories/bulk',
      method: 'POST',
      statusCode: 405,
      error: { summary: '', detail: '' },
    }),
    '405 Method Not Allowed - POST https://registry.npmjs.org/-/npm/v1/security/advisories/bulk',
  ],
  [
    'without a network',
    JSON.stringify({ message: `${NO_NETWORK}\nat once`, error: { summary: '', detail: '' } }),
    NO_NETWORK,
  ],
  ['with a summary alone', JSON.stringify({ error: { summary: 'no lock file' } }), 'no lock file'],
  ['with nothing printed', '', 'no answer'],
  ['with no npm', null, 'no answer'],
  ['with what is not JSON', '<html>', 'no answer'],
])('an answer that is none is neither: %s', (_, printed, why) => {
  expect(toldOf(printed)).toEqual({
    lines: [`Not looked up: the registry of packages could not be asked (${why}).`],
    status: 2,
  });
});
