import { fork } from 'node:child_process';
import type { Message, Outcome, Part } from './messages.ts';

/** A case that takes longer has hung: the slowest, ten megabytes of quotation marks, takes some seconds. */
const HUNG_MS = 90_000;

/** Runs cases `from` up to but not `to` in a process; where it hangs or dies, the case is told and the next is gone on with. */
export async function watchCases(
  part: Part,
  from: number,
  to: number,
  tell: (outcome: Outcome) => void,
): Promise<void> {
  let next = from;
  while (next < to) next = await oneProcess(part, next, to, tell);
}

/** Resolves to the number to go on with. */
function oneProcess(part: Part, from: number, to: number, tell: (outcome: Outcome) => void): Promise<number> {
  return new Promise((resolve) => {
    const worker = fork(new URL('worker.ts', import.meta.url), [part, String(from), String(to)], {
      execArgv: ['--import', 'tsx'],
      serialization: 'advanced',
    });
    let under = { n: from, what: 'starting' };
    let words: string | null = null;
    let timer: NodeJS.Timeout;
    const wind = (): void => {
      clearTimeout(timer);
      timer = setTimeout(() => {
        words = `hung: nothing heard for ${HUNG_MS / 1000} s`;
        worker.kill('SIGKILL');
      }, HUNG_MS);
    };
    wind();
    worker.on('message', (message: Message) => {
      wind();
      if (message.kind === 'start') under = message;
      else if (message.kind === 'done') tell(message.outcome);
      else words = message.words;
    });
    worker.on('exit', (code) => {
      clearTimeout(timer);
      if (code === 0) return resolve(to);
      const fault = words ?? `the process ended with status ${code}`;
      tell({ part, n: under.n, kinds: [under.what], ms: 0, faults: [fault], counts: {} });
      resolve(under.n + 1);
    });
  });
}
