import { appendFileSync, existsSync, readFileSync } from 'node:fs';
import type { Outcome, Part } from './messages.ts';

/**
 * The cases that were tried, one a line as JSON, so that a long run that is stopped goes on where it was. A case that
 * failed is tried again; the last line of a case counts.
 */
export class Ledger {
  private readonly outcomes = new Map<string, Outcome>();
  private readonly path: string | null;

  constructor(path: string | null) {
    this.path = path;
    if (path === null || !existsSync(path)) return;
    const text = readFileSync(path, 'utf8');
    // Else the next line would be one with what was cut short.
    if (text !== '' && !text.endsWith('\n')) appendFileSync(path, '\n');
    for (const line of text.split('\n')) {
      const outcome = read(line);
      if (outcome) this.outcomes.set(`${outcome.part} ${outcome.n}`, outcome);
    }
  }

  add(outcome: Outcome): void {
    this.outcomes.set(`${outcome.part} ${outcome.n}`, outcome);
    if (this.path !== null) appendFileSync(this.path, `${JSON.stringify(outcome)}\n`);
  }

  /** Was it tried, with nothing found? */
  has(part: Part, n: number): boolean {
    return this.outcomes.get(`${part} ${n}`)?.faults.length === 0;
  }

  all(): Outcome[] {
    return [...this.outcomes.values()];
  }
}

/** The last line may be cut where a run was ended. */
function read(line: string): Outcome | null {
  try {
    return JSON.parse(line) as Outcome;
  } catch {
    return null;
  }
}

/** The numbers from `first`, `many` of them, that `isDone` does not know, as runs `[from, to)` for about so many processes. */
export function runsToDo(
  first: number,
  many: number,
  processes: number,
  isDone: (n: number) => boolean,
): [from: number, to: number][] {
  const longest = Math.max(1, Math.ceil(many / processes));
  const runs: [number, number][] = [];
  for (let n = first; n < first + many; n++) {
    if (isDone(n)) continue;
    const last = runs.at(-1);
    if (last && last[1] === n && n - last[0] < longest) last[1] = n + 1;
    else runs.push([n, n + 1]);
  }
  return runs;
}
