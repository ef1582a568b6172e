import { batch, type ReadonlySignal } from '@preact/signals';
import type { AnalysisDraft } from '../analyses/analysis.ts';
import { hasBrokenEngine } from '../core/engine-lost.ts';
import { computeEntry } from './compute-entry.ts';
import type { DependencyGraph } from './dependency-graph.ts';
import type { EntryResult, EntryState } from './entry-state.ts';
import type { Page } from './page.ts';
import type { ChoiceValue, PageExecutor } from './page-executor.ts';
import {
  isKept,
  lower,
  NO_NODES,
  type Node,
  type PageNodes,
  placeNodes,
  readsCohort,
  resultsRead,
  stopsOthers,
  update,
} from './page-nodes.ts';
import { sameForReaders } from './same-for-readers.ts';
import { showDraft } from './show-draft.ts';
import { whenChanged } from './when-changed.ts';

export interface PageRuntime {
  /** Of the page as it stands. */
  graph(): DependencyGraph;
  has(name: string): boolean;
  /** The state of an entry. Throws on a name that the page does not have. */
  state(name: string): ReadonlySignal<EntryState>;
  /** What the user chose; only what depends on it is computed again. */
  setChoice(name: string, value: ChoiceValue): void;
  /** Values of all choices, to be kept for the next visit. */
  choices(): Record<string, ChoiceValue>;
  cancel(name: string): void;
  retry(name: string): void;
  /**
   * Puts another text of the page in place while it is being written: entries that read the same and say the same keep
   * their results; what was changed, and what depends on it, is computed again.
   */
  replacePage(page: Page): void;
  /** Resolves when nothing runs or waits. */
  settled(): Promise<void>;
  /** Stops everything and lets the executor forget what it kept for this page. */
  dispose(): void;
}

const BROKE = 'the engine stopped while it was worked out, so it is not tried again by itself';

/**
 * Computes a page's entries and keeps them up to date: when a choice or the cohort changes, what depends on it is
 * computed again and nothing else. An entry that fails stops only the entries that read it.
 */
export function createPageRuntime(
  page: Page,
  executor: PageExecutor,
  options: { readonly choices?: Readonly<Record<string, ChoiceValue>> } = {},
): PageRuntime {
  let stand: PageNodes = NO_NODES;
  let versions = 0;
  /** Names whose last run has yet to end although its entry is gone: two runs never write one name. */
  const leaving = new Set<string>();
  let waiters: (() => void)[] = [];
  let disposed = false;

  const nodeOf = (name: string): Node => {
    const node = stand.nodes.get(lower(name));
    if (!node) throw new Error(`entry must stand on the page: ${name}`);
    return node;
  };
  const readKey = (node: Node) =>
    [
      readsCohort(node.entry) ? executor.cohortVersion.peek() : '',
      JSON.stringify(node.wanted) ?? '',
      ...node.uses.map((each) => each.version),
    ].join('/');

  const settle = (node: Node, key: string, result: EntryResult) => {
    node.draft = null;
    if (!sameForReaders(node.state.peek().result, result)) node.version = ++versions;
    node.readKey = key;
    update(node, { status: 'done', result });
  };
  const fail = (node: Node, error: unknown) => {
    node.readKey = null;
    node.draft = null;
    node.hasBroken ||= hasBrokenEngine(error);
    const message = error instanceof Error ? error.message : String(error);
    // What an entry last showed must not stand beside a failure as if it still held.
    update(node, { status: 'failed', message, result: null });
    node.version = ++versions;
  };

  const start = (node: Node) => {
    node.stale = false;
    const key = readKey(node);
    if (key === node.readKey && node.state.peek().result) {
      update(node, { status: 'done' });
      return;
    }
    const running = new AbortController();
    const { signal: aborted } = running;
    update(node, { status: 'running', runs: node.state.peek().runs + 1 });
    const context = {
      executor,
      results: resultsRead(node),
      wanted: node.wanted,
      signal: aborted,
      progress: (fraction: number, stage: string) => {
        if (!aborted.aborted) update(node, { status: 'running', progress: fraction, message: stage });
      },
      draft: (draft: AnalysisDraft) => showDraft(node, running, draft),
    };
    try {
      const computed = computeEntry(node.entry, context);
      if (!(computed instanceof Promise)) {
        settle(node, key, computed);
        return;
      }
      node.running = running;
      computed
        .then(
          (result) => aborted.aborted || settle(node, key, result),
          (error: unknown) => aborted.aborted || fail(node, error),
        )
        .finally(() => {
          node.running = null;
          leaving.delete(lower(node.entry.name));
          if (stand.nodes.get(lower(node.entry.name)) === node) pump();
          else forget(node);
        });
    } catch (error) {
      fail(node, error);
    }
  };

  /** Lets the executor drop what an entry that left the page had kept, unless another now bears its name. */
  const forget = (node: Node) => {
    const { name } = node.entry;
    if (isKept(node.entry) && !stand.nodes.has(lower(name))) executor.dropEntry(name).catch(() => undefined);
    pump();
  };

  const consider = (node: Node) => {
    if (!node.stale || node.running || leaving.has(lower(node.entry.name))) return;
    const problem = stand.broken.get(lower(node.entry.name));
    const stopper = node.uses.find((each) => !each.stale && stopsOthers(each.state.peek()));
    if (problem !== undefined) {
      node.stale = false;
      fail(node, problem);
    } else if (node.hasBroken) {
      node.stale = false;
      fail(node, new Error(BROKE));
    } else if (stopper) {
      node.stale = false;
      node.readKey = null;
      node.version = ++versions;
      update(node, { status: 'blocked', message: stopper.entry.name, result: null });
    } else if (node.uses.every((each) => !each.stale && each.state.peek().status === 'done')) {
      start(node);
    }
  };

  function pump(): void {
    if (disposed) return;
    batch(() => {
      for (const node of stand.ordered) consider(node);
    });
    if ([...stand.nodes.values()].every((node) => !node.stale && !node.running)) {
      const done = waiters;
      waiters = [];
      for (const each of done) each();
    }
  }

  const stop = (node: Node) => {
    node.running?.abort();
    node.draft = null;
  };
  const spoil = (node: Node, seen = new Set<Node>()): void => {
    if (seen.has(node)) return;
    seen.add(node);
    node.stale = true;
    stop(node);
    update(node, { status: 'waiting' });
    for (const each of node.usedBy) spoil(each, seen);
  };
  const spoilAndPump = (spoilt: readonly Node[]) => {
    batch(() => {
      const seen = new Set<Node>();
      for (const node of spoilt) spoil(node, seen);
    });
    pump();
  };

  const place = (next: Page) => {
    const { placed, changed, gone } = placeNodes(next, stand);
    stand = placed;
    for (const node of gone) {
      stop(node);
      if (node.running) leaving.add(lower(node.entry.name));
    }
    batch(() => {
      const seen = new Set<Node>();
      for (const node of changed) spoil(node, seen);
    });
    for (const node of gone) if (!node.running) forget(node);
  };
  place(page);

  for (const [name, value] of Object.entries(options.choices ?? {})) {
    const node = stand.nodes.get(lower(name));
    if (node?.entry.kind === 'choice') node.wanted = value;
  }
  /** Its sentences give lengths in another unit than is now wanted, or may be about to. */
  const speaksOtherwise = (node: Node, wanted: string) => {
    if (node.entry.kind !== 'analysis') return false;
    const { result } = node.state.peek();
    if (node.running || result?.kind !== 'analysis') return node.running !== null;
    return (result.analysis.lengths ?? wanted) !== wanted;
  };
  const unwatchLengths = whenChanged(
    () => executor.lengths?.value,
    (wanted) => {
      if (!wanted) return;
      const spoilt = [...stand.nodes.values()].filter((node) => speaksOtherwise(node, wanted));
      for (const node of spoilt) node.readKey = null;
      spoilAndPump(spoilt);
    },
  );
  const unwatch = whenChanged(
    () => executor.cohortVersion.value,
    () => spoilAndPump([...stand.nodes.values()].filter((node) => readsCohort(node.entry))),
  );
  pump();

  return {
    graph: () => stand.graph,
    replacePage(next) {
      place(next);
      pump();
    },
    has: (name) => stand.nodes.has(lower(name)),
    state: (name) => nodeOf(name).state,
    setChoice(name, value) {
      const node = nodeOf(name);
      if (node.entry.kind !== 'choice') throw new Error(`${name} must be a choice: ${node.entry.kind}`);
      if (node.wanted === value) return;
      node.wanted = value;
      for (const each of stand.nodes.values()) each.hasBroken = false;
      const { status, result } = node.state.peek();
      if (status === 'done' && result?.kind === 'choice' && result.value === value) {
        node.readKey = readKey(node);
        return;
      }
      spoilAndPump([node]);
    },
    choices: () =>
      Object.fromEntries(
        [...stand.nodes.values()].flatMap((node) => {
          const { result } = node.state.peek();
          return result?.kind === 'choice' && result.value !== null ? [[node.entry.name, result.value]] : [];
        }),
      ),
    cancel(name) {
      const node = nodeOf(name);
      if (!node.running && !node.stale) return;
      stop(node);
      batch(() => {
        node.stale = false;
        node.readKey = null;
        node.version = ++versions;
        update(node, { status: 'cancelled', result: null });
      });
      pump();
    },
    retry(name) {
      const node = nodeOf(name);
      node.readKey = null;
      node.hasBroken = false;
      spoilAndPump([node]);
    },
    settled: () =>
      new Promise((resolve) => {
        waiters.push(resolve);
        pump();
      }),
    dispose() {
      disposed = true;
      unwatch();
      unwatchLengths();
      for (const node of stand.nodes.values()) {
        stop(node);
        if (isKept(node.entry)) executor.dropEntry(node.entry.name).catch(() => undefined);
      }
    },
  };
}
