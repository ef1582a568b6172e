import { batch, effect, type ReadonlySignal, type Signal, signal, untracked } from '@preact/signals';
import { hasBrokenEngine } from '../core/engine-lost.ts';
import { computeEntry } from './compute-entry.ts';
import { type DependencyGraph, dependencyGraph } from './dependency-graph.ts';
import { type EntryResult, type EntryState, WAITING } from './entry-state.ts';
import type { Entry, Page } from './page.ts';
import type { ChoiceValue, PageExecutor } from './page-executor.ts';
import { tablesEqual } from './tables-equal.ts';

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

interface Running {
  readonly controller: AbortController;
}

interface Node {
  entry: Entry;
  readonly state: Signal<EntryState>;
  uses: Node[];
  usedBy: Node[];
  /** Something that it reads has changed, or may have. */
  stale: boolean;
  /** The run under way; an aborted one stays here until it has ended, so that two never write one name. */
  running: Running | null;
  wanted: ChoiceValue | undefined;
  /** Another one, never used before, when the result differs from the one before. */
  version: number;
  /** Versions of all that the last good run had read. */
  readKey: string | null;
  /** The engine broke over it: another one is not given it to break over unless the user asks. */
  hasBroken: boolean;
}

const BROKE = 'the engine stopped while it was worked out, so it is not tried again by itself';

const lower = (name: string) => name.toLowerCase();
const readsCohort = (entry: Entry) => entry.kind === 'query' || entry.kind === 'analysis';
/** The executor keeps something under its name. */
const isKept = (entry: Entry) => readsCohort(entry) || entry.kind === 'column';
const stopsOthers = ({ status }: EntryState) =>
  status === 'failed' || status === 'blocked' || status === 'cancelled';

function sameForReaders(before: EntryResult | null, after: EntryResult): boolean {
  if (before?.kind === 'query' && after.kind === 'query')
    return before.unanswered === after.unanswered && tablesEqual(before.table, after.table);
  if (before?.kind === 'choice' && after.kind === 'choice') return before.value === after.value;
  return false;
}

function makeNode(entry: Entry): Node {
  return {
    entry,
    state: signal<EntryState>(WAITING),
    uses: [],
    usedBy: [],
    stale: true,
    running: null,
    wanted: undefined,
    version: 0,
    readKey: null,
    hasBroken: false,
  };
}

/** Ties nodes to those that they read. */
function link(nodes: ReadonlyMap<string, Node>, graph: DependencyGraph): void {
  for (const node of nodes.values()) {
    node.uses = [];
    node.usedBy = [];
  }
  for (const [name, used] of graph.uses) {
    for (const other of used) {
      nodes.get(lower(name))!.uses.push(nodes.get(lower(other))!);
      nodes.get(lower(other))!.usedBy.push(nodes.get(lower(name))!);
    }
  }
}

/** What an entry says, whatever its place on the page and the comments in it. */
const saying = ({ kind, name, body }: Entry) => JSON.stringify([kind, name, body]);
const reading = (graph: DependencyGraph, entry: Entry) =>
  (graph.uses.get(entry.name) ?? []).map(lower).join(' ');

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
  const nodes = new Map<string, Node>();
  let graph: DependencyGraph = { uses: new Map(), order: [], problems: [] };
  let ordered: Node[] = [];
  let broken = new Map<string, string>();
  let versions = 0;
  /** Names whose last run has yet to end although its entry is gone: two runs never write one name. */
  const leaving = new Set<string>();
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
    if (!sameForReaders(node.state.peek().result, result)) node.version = ++versions;
    node.readKey = key;
    update(node, { status: 'done', result });
  };
  const fail = (node: Node, error: unknown) => {
    node.readKey = null;
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
          leaving.delete(lower(node.entry.name));
          if (nodes.get(lower(node.entry.name)) === node) pump();
          else forget(node);
        });
    } catch (error) {
      fail(node, error);
    }
  };

  /** Lets the executor drop what an entry that left the page had kept, unless another now bears its name. */
  const forget = (node: Node) => {
    const { name } = node.entry;
    if (isKept(node.entry) && !nodes.has(lower(name))) executor.dropEntry(name).catch(() => undefined);
    pump();
  };

  const consider = (node: Node) => {
    if (!node.stale || node.running || leaving.has(lower(node.entry.name))) return;
    const problem = broken.get(lower(node.entry.name));
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

  const place = (next: Page) => {
    const before = graph;
    graph = dependencyGraph(next.entries, unreadNames(next));
    const wasBroken = broken;
    broken = new Map(
      graph.problems.flatMap(({ entry, message, line }) =>
        entry ? [[lower(entry), `line ${line}: ${message}`]] : [],
      ),
    );
    const spoilt: Node[] = [];
    const gone = new Map(nodes);
    const orphaned: Node[] = [];
    nodes.clear();
    for (const entry of next.entries) {
      const key = lower(entry.name);
      const old = gone.get(key);
      if (old?.entry.kind !== entry.kind) {
        nodes.set(key, makeNode(entry));
        continue;
      }
      gone.delete(key);
      nodes.set(key, old);
      const same =
        saying(old.entry) === saying(entry) &&
        reading(before, old.entry) === reading(graph, entry) &&
        wasBroken.has(key) === broken.has(key) &&
        !broken.has(key);
      old.entry = entry;
      if (same) continue;
      old.readKey = null;
      old.hasBroken = false;
      spoilt.push(old);
    }
    for (const node of gone.values()) {
      orphaned.push(...node.usedBy);
      stop(node);
      if (node.running) leaving.add(lower(node.entry.name));
    }
    link(nodes, graph);
    ordered = [
      ...graph.order.map((name) => nodes.get(lower(name))!),
      ...[...nodes.values()].filter((node) => !graph.order.includes(node.entry.name)),
    ];
    batch(() => {
      const seen = new Set<Node>();
      for (const node of [...spoilt, ...orphaned]) {
        if (nodes.get(lower(node.entry.name)) === node) spoil(node, seen);
      }
    });
    for (const node of gone.values()) if (!node.running) forget(node);
  };
  place(page);

  for (const [name, value] of Object.entries(options.choices ?? {})) {
    const node = nodes.get(lower(name));
    if (node?.entry.kind === 'choice') node.wanted = value;
  }
  let isFirst = true;
  /** Its sentences give lengths in another unit than is now wanted, or may be about to. */
  const speaksOtherwise = (node: Node, wanted: string) => {
    if (node.entry.kind !== 'analysis') return false;
    const { result } = node.state.peek();
    if (node.running || result?.kind !== 'analysis') return node.running !== null;
    return (result.analysis.lengths ?? wanted) !== wanted;
  };
  let isFirstUnit = true;
  const unwatchLengths = effect(() => {
    const wanted = executor.lengths?.value;
    untracked(() => {
      if (!isFirstUnit && wanted) {
        const spoilt = [...nodes.values()].filter((node) => speaksOtherwise(node, wanted));
        for (const node of spoilt) node.readKey = null;
        spoilAndPump(spoilt);
      }
      isFirstUnit = false;
    });
  });
  const unwatch = effect(() => {
    executor.cohortVersion.value;
    untracked(() => {
      if (isFirst) pump();
      else spoilAndPump([...nodes.values()].filter((node) => readsCohort(node.entry)));
      isFirst = false;
    });
  });

  return {
    graph: () => graph,
    replacePage(next) {
      place(next);
      pump();
    },
    has: (name) => nodes.has(lower(name)),
    state: (name) => nodeOf(name).state,
    setChoice(name, value) {
      const node = nodeOf(name);
      if (node.entry.kind !== 'choice') throw new Error(`${name} must be a choice: ${node.entry.kind}`);
      if (node.wanted === value) return;
      node.wanted = value;
      for (const each of nodes.values()) each.hasBroken = false;
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
      for (const node of nodes.values()) {
        stop(node);
        if (isKept(node.entry)) executor.dropEntry(node.entry.name).catch(() => undefined);
      }
    },
  };
}
