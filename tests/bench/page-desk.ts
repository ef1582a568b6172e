import { readdirSync, readFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { signal } from '@preact/signals';
import { type Memory, makeMemory } from '../../src/analyses/memory.ts';
import { pageExecutor } from '../../src/app/executor.ts';
import type { HerdMethods } from '../../src/app/herd-service.ts';
import type { Caller } from '../../src/app/rpc.ts';
import type { Engine } from '../../src/engine/engine.ts';
import type { Page } from '../../src/pages/page.ts';
import { parsePage } from '../../src/pages/parse-page.ts';
import { createPageRuntime } from '../../src/pages/runtime.ts';
import { deskOf } from '../herd-desk.ts';
import { TODAY } from './herds.ts';

export interface ShippedPage {
  readonly id: string;
  readonly page: Page;
}

/** Every shipped page, in the order of the contents. */
export function shippedPages(): ShippedPage[] {
  return readdirSync('notebooks')
    .filter((name) => name.endsWith('.md'))
    .map((name) => ({
      id: basename(name, '.md'),
      page: parsePage(readFileSync(join('notebooks', name), 'utf8')),
    }))
    .sort((a, b) => Number(a.page.front.order) - Number(b.page.front.order));
}

/** The herd's desk on the day of the bench. */
export const openDesk = (engine: Engine, memory: Memory | null = null): Caller<HerdMethods> =>
  deskOf(engine, TODAY, memory);

/** A memory that entries of a page share while `shared` runs; otherwise each works everything out for itself. */
export function lentMemory(): { readonly memory: Memory; shared<T>(job: () => Promise<T>): Promise<T> } {
  let standing: Memory | null = null;
  const now = (): Memory => standing ?? makeMemory();
  return {
    memory: { over: (cohort) => now().over(cohort), during: (change) => now().during(change) },
    async shared(job) {
      standing = makeMemory();
      try {
        return await job();
      } finally {
        standing = null;
      }
    },
  };
}

/** What an analysis of a page took. */
export interface EntryTime {
  readonly entry: string;
  readonly use: string;
  readonly ms: number;
}

let version = 0;

/**
 * Computes a page from its start, as opening it after a change of the herd does, one entry after the other: each is
 * timed alone. Throws where an entry fails.
 */
export async function computePage(
  { id, page }: ShippedPage,
  desk: Caller<HerdMethods>,
): Promise<readonly EntryTime[]> {
  const times: EntryTime[] = [];
  const executor = pageExecutor(desk, signal(++version));
  let last: Promise<unknown> = Promise.resolve();
  const alone = <T>(job: () => Promise<T>): Promise<T> => {
    const mine = last.then(job);
    last = mine.catch(() => undefined);
    return mine;
  };
  const runtime = createPageRuntime(page, {
    ...executor,
    runQuery: (...given) => alone(() => executor.runQuery(...given)),
    runAnalysis: (entry, use, options, run) =>
      alone(async () => {
        const began = performance.now();
        const result = await executor.runAnalysis(entry, use, options, run);
        times.push({ entry, use, ms: performance.now() - began });
        return result;
      }),
  });
  await runtime.settled();
  for (const { name } of page.entries) {
    const { status, message } = runtime.state(name).peek();
    if (status !== 'done') throw new Error(`page ${id}, entry ${name} is ${status}: ${message}`);
  }
  runtime.dispose();
  return times;
}
