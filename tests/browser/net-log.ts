/** What the browser itself writes down of its network (`--log-net-log`): every request, socket and look-up of any thread. */
export interface NetLogReading {
  /** Sockets asked for towards the program's own origin: none would mean that the log is not understood. */
  readonly own: number;
  /** All that a page of the origin, or a thread of it, asked of anyone else. */
  readonly foreign: readonly string[];
}

interface NetEvent {
  readonly type: number;
  readonly params?: Readonly<Record<string, unknown>>;
}

const KINDS = [
  'URL_REQUEST_START_JOB',
  'TCP_CLIENT_SOCKET_POOL_REQUESTED_SOCKET',
  // Connected ahead of any request.
  'TCP_CLIENT_SOCKET_POOL_REQUESTED_SOCKETS',
  'HOST_RESOLVER_MANAGER_REQUEST',
] as const;

/** Asked by Chromium itself, in the name of any page with a form, how people fill it in; a page cannot ask it. */
const FORM_FILLING = 'https://content-autofill.googleapis.com';

/**
 * Reads a log, whole or broken off: its first line names the kinds of events, each later one is an event. What the
 * browser does on its own account bears no mark of our site and is let be.
 */
export function readNetLog(text: string, origin: string): NetLogReading {
  const [head = '', ...lines] = text.split('\n');
  const { constants } = JSON.parse(`${head.trim().replace(/,$/, '')}}`) as {
    constants: { logEventTypes: Record<string, number> };
  };
  const kinds = new Map(KINDS.map((kind) => [constants.logEventTypes[kind], kind]));
  const site = origin.replace(/:\d+$/, '');
  let own = 0;
  let fillsForms = false;
  const foreign = new Set<string>();
  for (const line of lines) {
    const event = parse(line);
    const kind = event && kinds.get(event.type);
    if (!kind || !event?.params) continue;
    const said = (name: string): string => String(event.params?.[name] ?? '');
    if (kind === 'URL_REQUEST_START_JOB') {
      if (said('initiator') === origin && !said('url').startsWith(`${origin}/`)) foreign.add(said('url'));
    } else if (kind.startsWith('TCP_CLIENT_SOCKET_POOL')) {
      // `pm/http://host:port <http://site same_site>`
      const [to = '', by = ''] = said('group_id').split(' <');
      if (!by.startsWith(site)) continue;
      if (to.endsWith(origin)) own += 1;
      else if (to.endsWith(FORM_FILLING)) fillsForms = true;
      else foreign.add(to);
    } else if (said('network_anonymization_key').startsWith(site) && said('host') !== origin) {
      foreign.add(`look-up of ${said('host')}`);
    }
  }
  // Its look-up bears our mark too, and all hosts are turned away under one name.
  if (fillsForms) foreign.delete('look-up of https://~notfound');
  return { own, foreign: [...foreign] };
}

function parse(line: string): NetEvent | null {
  try {
    return JSON.parse(line.replace(/[\],\s]+$/, '')) as NetEvent;
  } catch {
    return null;
  }
}
