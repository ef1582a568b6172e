import { expect, it } from 'vitest';
import { readNetLog } from '../browser/net-log.ts';

/** Cut from a log of Chromium in which a page and a worker of it tried to get out. */
const HEAD =
  '{"constants":{"logEventTypes":{"URL_REQUEST_START_JOB":136,"TCP_CLIENT_SOCKET_POOL_REQUESTED_SOCKET":123,"TCP_CLIENT_SOCKET_POOL_REQUESTED_SOCKETS":124,"HOST_RESOLVER_MANAGER_REQUEST":5}},\n"events": [';
const ORIGIN = 'http://127.0.0.1:4187';
const request = (url: string, initiator: string) =>
  `{"params":{"initiator":"${initiator}","url":"${url}"},"type":136},`;
const socket = (group: string) => `{"params":{"group_id":"${group}"},"type":123},`;
const lookUp = (host: string, by: string) =>
  `{"params":{"host":"${host}","network_anonymization_key":"${by}"},"type":5},`;
const read = (...lines: string[]) => readNetLog([HEAD, ...lines].join('\n'), ORIGIN);

it('lets the origin’s own traffic be, and what the browser does for itself', () => {
  const own = [
    request(`${ORIGIN}/assets/a.js`, ORIGIN),
    socket(`${ORIGIN} <http://127.0.0.1 same_site>`),
    socket(`pm/${ORIGIN} <http://127.0.0.1 same_site>`),
    lookUp(ORIGIN, 'http://127.0.0.1 same_site'),
    request('https://update.example/x', 'not an origin'),
    socket('pm/https://update.example <null>'),
    lookUp('https://~notfound', 'null'),
    socket('pm/https://content-autofill.googleapis.com <http://127.0.0.1 same_site>'),
    lookUp('https://~notfound', 'http://127.0.0.1 same_site'),
  ];
  expect(read(...own)).toEqual({ own: 2, foreign: [] });
});

it.each([
  ['a request', request('http://203.0.113.1/f', ORIGIN)],
  ['a request to another port', request('http://127.0.0.1:41870/f', ORIGIN)],
  ['a web socket', socket('pmpsa/http://203.0.113.2 <http://127.0.0.1 same_site>')],
  ['a worker’s socket', socket('pm/http://203.0.113.4 <http://127.0.0.1 same_site>')],
  [
    'a connection made ahead',
    socket('http://203.0.113.3 <http://127.0.0.1 same_site>').replace(':123}', ':124}'),
  ],
  ['a look-up', lookUp('http://~notfound', 'http://127.0.0.1 same_site')],
  ['the last line of a whole log', `${request('http://203.0.113.1/f', ORIGIN).slice(0, -1)}],`],
])('sees %s', (_, line) => {
  expect(read(line).foreign).toHaveLength(1);
});

it('reads a log that broke off', () => {
  expect(read(request('http://203.0.113.1/f', ORIGIN), '{"params":{"ur').foreign).toHaveLength(1);
});
