import { batch, effect, type ReadonlySignal, type Signal, signal, untracked } from '@preact/signals';
import { computeEntry } from './compute-entry.ts';
import { type DependencyGraph, dependencyGraph } from './dependency-graph.ts';
import { type EntryResult, type EntryState, WAITING } from './entry-state.ts';
import type { Entry, Page } from './page.ts';
import type { ChoiceValue, PageExecutor } from './page-executor.ts';
import { tablesEqual } from './tables-equal.ts';

export interface PageRuntime {
  readonly graph: DependencyGraph;
  /** The state of an entry. Throws on a name that the page does not have. */
  state(name: string): ReadonlySignal<EntryState>;
  /** What the user chose; only what depends on it is computed again. */
  setChoice(name: string, value: ChoiceValue): void;
  /** Values of all choices, to be kept for the next visit. */
  choices(): Record<string, ChoiceValue>;
  cancel(name: string): void;
  retry(name: string): void;
  /** Resolves when nothing runs or waits. */
  settled(): Promise<void>;
  /** Stops everything and lets the executor forget what it kept for this page. */
  dispose(): void;
}

interface Running {
  readonly controller: AbortController;
}

interface Node {
  readonly entry: Entry;
  readonly state: Signal<EntryState>;
  readonly uses: Node[];
  readonly usedBy: Node[];
  /** Something that it reads has changed, or may have. */
  stale: boolean;
  /** The run under way; an aborted one stays here until it has ended, so that two never write one name. */
  running: Running | null;
  wanted: ChoiceValue | undefined;
  /** Grows when the result differs from the one before. */
  version: number;
  /** Versions of all that the last good run had read. */
  readKey: string | null;
}

const lower = (name: string) => name.toLowerCase();
const readsCohort = (entry: Entry) => entry.kind === 'query' || entry.kind === 'analysis';
const stopsOthers = ({ status }: EntryState) =>
  status === 'failed' || status === 'blocked' || status === 'cancelled';

function sameForReaders(before: EntryResult | null, after: EntryResult): boolean {
  if (before?.kind === 'query' && after.kind === 'query') return tablesEqual(before.table, after.table);
  if (before?.kind === 'choice' && after.kind === 'choice') return before.value === after.value;
  return false;
}

function makeNodes(entries: readonly Entry[], graph: DependencyGraph): Map<string, Node> {
  const nodes = new Map<string, Node>();
  for (const entry of entries) {
    nodes.set(lower(entry.name), {
      entry,
      state: signal<EntryState>(WAITING),
      uses: [],
      usedBy: [],
      stale: true,
      running: null,
      wanted: undefined,
      version: 0,
      readKey: null,
    });
  }
  for (const [name, used] of graph.uses) {
    for (const other of used) {
      nodes.get(lower(name))!.uses.push(nodes.get(lower(other))!);
      nodes.get(lower(other))!.usedBy.push(nodes.get(lower(name))!);
    }
  }
  return nodes;
}

const unreadNames = (page: Page) =>
  new Set(page.problems.flatMap(({ entry }) => (entry ? [lower(entry)] : [])));

/**
 * Computes a page's entries and keeps them up to date: when a choice or the cohort changes, what depends on it is
 * computed again and nothing else. An entry that fails stops only the entries that read it.
 */
export function createPageRuntime(
  page: Page,
  executor: PageExecutor,
  options: { readonly choices?: Readonly<Record<string, ChoiceValue>> } = {},
): PageRuntime {
  const graph = dependencyGraph(page.entries, unreadNames(page));
  const nodes = makeNodes(page.entries, graph);
  const ordered = [
    ...graph.order.map((name) => nodes.get(lower(name))!),
    ...[...nodes.values()].filter((node) => !graph.order.includes(node.entry.name)),
  ];
  const broken = new Map(
    graph.problems.flatMap(({ entry, message, line }) =>
      entry ? [[lower(entry), `line ${line}: ${message}`]] : [],
    ),
  );
  let waiters: (() => void)[] = [];
  let disposed = false;

  const nodeOf = (name: string): Node => {
    const node = nodes.get(lower(name));
    if (!node) throw new Error(`entry must stand on the page: ${name}`);
    return node;
  };
  const update = (node: Node, change: Partial<EntryState>) => {
    node.state.value = { ...node.state.peek(), progress: null, message: null, ...change };
  };
  const readKey = (node: Node) =>
    [
      readsCohort(node.entry) ? executor.cohortVersion.peek() : '',
      JSON.stringify(node.wanted) ?? '',
      ...node.uses.map((each) => each.version),
    ].join('/');

  const settle = (node: Node, key: string, result: EntryResult) => {
    if (!sameForReaders(node.state.peek().result, result)) node.version += 1;
    node.readKey = key;
    update(node, { status: 'done', result });
  };
  const fail = (node: Node, error: unknown) => {
    node.readKey = null;
    const message = error instanceof Error ? error.message : String(error);
    // What an entry last showed must not stand beside a failure as if it still held.
    update(node, { status: 'failed', message, result: null });
    node.version += 1;
  };

  const start = (node: Node) => {
    node.stale = false;
    const key = readKey(node);
    if (key === node.readKey && node.state.peek().result) {
      update(node, { status: 'done' });
      return;
    }
    const running: Running = { controller: new AbortController() };
    const { signal: aborted } = running.controller;
    const results = new Map(
      node.uses.flatMap((each) => {
        const { result } = each.state.peek();
        return result ? [[lower(each.entry.name), result] as const] : [];
      }),
    );
    update(node, { status: 'running', runs: node.state.peek().runs + 1 });
    const context = {
      executor,
      results,
      wanted: node.wanted,
      signal: aborted,
      progress: (fraction: number, stage: string) => {
        if (!aborted.aborted) update(node, { status: 'running', progress: fraction, message: stage });
      },
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
          pump();
        });
    } catch (error) {
      fail(node, error);
    }
  };

  const consider = (node: Node) => {
    if (!node.stale || node.running) return;
    const problem = broken.get(lower(node.entry.name));
    const stopper = node.uses.find((each) => !each.stale && stopsOthers(each.state.peek()));
    if (problem !== undefined) {
      node.stale = false;
      fail(node, problem);
    } else if (stopper) {
      node.stale = false;
      node.readKey = null;
      node.version += 1;
      update(node, { status: 'blocked', message: stopper.entry.name, result: null });
    } else if (node.uses.every((each) => !each.stale && each.state.peek().status === 'done')) {
      start(node);
    }
  };

  function pump(): void {
    if (disposed) return;
    batch(() => {
      for (const node of ordered) consider(node);
    });
    if ([...nodes.values()].every((node) => !node.stale && !node.running)) {
      const done = waiters;
      waiters = [];
      for (const each of done) each();
    }
  }

  const stop = (node: Node) => node.running?.controller.abort();
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

  for (const [name, value] of Object.entries(options.choices ?? {})) {
    const node = nodes.get(lower(name));
    if (node?.entry.kind === 'choice') node.wanted = value;
  }
  let isFirst = true;
  const unwatch = effect(() => {
    executor.cohortVersion.value;
    untracked(() => {
      if (isFirst) pump();
      else spoilAndPump([...nodes.values()].filter((node) => readsCohort(node.entry)));
      isFirst = false;
    });
  });

  return {
    graph,
    state: (name) => nodeOf(name).state,
    setChoice(name, value) {
      const node = nodeOf(name);
      if (node.entry.kind !== 'choice') throw new Error(`${name} must be a choice: ${node.entry.kind}`);
      if (node.wanted === value) return;
      node.wanted = value;
      const { status, result } = node.state.peek();
      if (status === 'done' && result?.kind === 'choice' && result.value === value) {
        node.readKey = readKey(node);
        return;
      }
      spoilAndPump([node]);
    },
    choices: () =>
      Object.fromEntries(
        [...nodes.values()].flatMap((node) => {
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
        node.version += 1;
        update(node, { status: 'cancelled', result: null });
      });
      pump();
    },
    retry(name) {
      const node = nodeOf(name);
      node.readKey = null;
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
      for (const node of nodes.values()) {
        stop(node);
        if (readsCohort(node.entry)) executor.dropEntry(node.entry.name).catch(() => undefined);
      }
    },
  };
}
