import { type Signal, signal } from '@preact/signals';
import type { AnalysisDraft } from '../analyses/analysis.ts';
import { type DependencyGraph, dependencyGraph } from './dependency-graph.ts';
import { type EntryResult, type EntryState, WAITING } from './entry-state.ts';
import type { Entry, Page } from './page.ts';
import type { ChoiceValue } from './page-executor.ts';

/** An entry, its state, and what it takes to know when that no longer holds. */
export interface Node {
  entry: Entry;
  readonly state: Signal<EntryState>;
  uses: Node[];
  usedBy: Node[];
  /** Something that it reads has changed, or may have. */
  stale: boolean;
  /** The run under way; an aborted one stays here until it has ended, so that two never write one name. */
  running: AbortController | null;
  wanted: ChoiceValue | undefined;
  /** Another one, never used before, when the result differs from the one before. */
  version: number;
  /** Versions of all that the last good run had read. */
  readKey: string | null;
  /** What the run under way has handed over. */
  draft: AnalysisDraft | null;
  /** The engine broke over it: another one is not given it to break over unless the user asks. */
  hasBroken: boolean;
}

/** The entries of a page as it stands, by name in small letters. */
export interface PageNodes {
  readonly graph: DependencyGraph;
  readonly nodes: ReadonlyMap<string, Node>;
  /** Each after those that it reads; then those that go round in a ring. */
  readonly ordered: readonly Node[];
  /** What is wrong with the way an entry is written, by name. */
  readonly broken: ReadonlyMap<string, string>;
}

export const NO_NODES: PageNodes = {
  graph: { uses: new Map(), order: [], problems: [] },
  nodes: new Map(),
  ordered: [],
  broken: new Map(),
};

export const lower = (name: string) => name.toLowerCase();
export const readsCohort = (entry: Entry) => entry.kind === 'query' || entry.kind === 'analysis';
/** The executor keeps something under its name. */
export const isKept = (entry: Entry) => readsCohort(entry) || entry.kind === 'column';

/** What reads an entry in such a state waits for it no longer. */
export const stopsOthers = ({ status }: EntryState) =>
  status === 'failed' || status === 'blocked' || status === 'cancelled';

/** Results of what an entry reads, by lower-case name. */
export const resultsRead = ({ uses }: Node): ReadonlyMap<string, EntryResult> =>
  new Map(
    uses.flatMap(({ entry, state }) => {
      const { result } = state.peek();
      return result ? [[lower(entry.name), result] as const] : [];
    }),
  );

/** Another state; the progress and the message of the one before go with it, and so does its being a draft. */
export function update(node: Node, change: Partial<EntryState>): void {
  node.state.value = { ...node.state.peek(), progress: null, message: null, isDraft: false, ...change };
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
    draft: null,
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

interface Placed {
  readonly placed: PageNodes;
  /** Of the nodes that stay: those that say or read something else than before. */
  readonly changed: readonly Node[];
  /** Nodes whose entries left the page. */
  readonly gone: readonly Node[];
}

/** Another text in place of a page's: an entry of the same name and kind keeps its node, and so what it shows. */
export function placeNodes(next: Page, before: PageNodes): Placed {
  const graph = dependencyGraph(next.entries, unreadNames(next));
  const broken = new Map(
    graph.problems.flatMap(({ entry, message, line }) =>
      entry ? [[lower(entry), `line ${line}: ${message}`]] : [],
    ),
  );
  const nodes = new Map<string, Node>();
  const gone = new Map(before.nodes);
  const changed: Node[] = [];
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
      reading(before.graph, old.entry) === reading(graph, entry) &&
      before.broken.has(key) === broken.has(key) &&
      !broken.has(key);
    old.entry = entry;
    if (same) continue;
    old.readKey = null;
    old.hasBroken = false;
    changed.push(old);
  }
  const orphaned = [...gone.values()].flatMap((node) => node.usedBy);
  link(nodes, graph);
  const ordered = [
    ...graph.order.map((name) => nodes.get(lower(name))!),
    ...[...nodes.values()].filter((node) => !graph.order.includes(node.entry.name)),
  ];
  const stays = (node: Node): boolean => nodes.get(lower(node.entry.name)) === node;
  return {
    placed: { graph, nodes, ordered, broken },
    changed: [...changed, ...orphaned].filter(stays),
    gone: [...gone.values()],
  };
}
