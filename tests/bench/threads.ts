/** An event of the browser's trace, as far as its profiler's samples need. */
export interface TraceEvent {
  readonly name: string;
  readonly pid: number;
  readonly tid: number;
  readonly id?: string;
  readonly ts: number;
  readonly args: {
    readonly name?: string;
    readonly data?: {
      readonly startTime?: number;
      readonly timeDeltas?: readonly number[];
      readonly cpuProfile?: { readonly samples?: readonly number[]; readonly nodes?: readonly ProfileNode[] };
    };
  };
}

interface ProfileNode {
  readonly id: number;
  readonly callFrame: { readonly functionName: string; readonly url?: string; readonly codeType?: string };
}

/** Milliseconds. `drawing`: the page's own thread worked and none of the others did. */
export interface BusyThreads {
  readonly engine: number;
  readonly estimators: number;
  /** Two threads of estimators at once. */
  readonly twoEstimators: number;
  readonly both: number;
  readonly drawing: number;
}

const AT_REST = ['(idle)', '(program)', '(root)'];

/**
 * How long the threads of a tab worked: the page's own, and of its workers the one that mostly ran wasm (the engine) and
 * the others (estimators), by the millisecond in which most samples fell on work.
 */
export function busyThreads(events: readonly TraceEvent[]): BusyThreads {
  const isMain = new Set(
    events.flatMap(({ name, args, pid, tid }) =>
      name === 'thread_name' && args.name === 'CrRendererMain' ? [`${pid}/${tid}`] : [],
    ),
  );
  const worked = { main: new Set<number>(), engine: new Set<number>(), estimators: new Set<number>() };
  const twice = new Set<number>();
  for (const thread of threads(events)) {
    const role = isMain.has(thread.name)
      ? 'main'
      : thread.wasm > 0.4 * thread.busy.size
        ? 'engine'
        : 'estimators';
    for (const ms of thread.busy) {
      if (role === 'estimators' && worked.estimators.has(ms)) twice.add(ms);
      worked[role].add(ms);
    }
  }
  const count = (set: Set<number>, passes: (ms: number) => boolean): number => [...set].filter(passes).length;
  return {
    engine: worked.engine.size,
    estimators: worked.estimators.size,
    twoEstimators: twice.size,
    both: count(worked.engine, (ms) => worked.estimators.has(ms)),
    drawing: count(worked.main, (ms) => !worked.engine.has(ms) && !worked.estimators.has(ms)),
  };
}

interface Thread {
  readonly name: string;
  /** Milliseconds of the clock in which it worked at least half the time. */
  readonly busy: ReadonlySet<number>;
  /** How much of that, in milliseconds, in wasm. */
  readonly wasm: number;
}

function threads(events: readonly TraceEvent[]): Thread[] {
  return events
    .filter(({ name }) => name === 'Profile')
    .map((profile) => {
      const chunks = events
        .filter(({ name, pid, id }) => name === 'ProfileChunk' && pid === profile.pid && id === profile.id)
        .sort((a, b) => a.ts - b.ts);
      return { name: `${profile.pid}/${profile.tid}`, ...workOf(profile.args.data?.startTime ?? 0, chunks) };
    });
}

function workOf(from: number, chunks: readonly TraceEvent[]): Omit<Thread, 'name'> {
  const nodes = new Map<number, ProfileNode>();
  const share = new Map<number, number>();
  let [at, wasm] = [from, 0];
  let last: ProfileNode | undefined;
  for (const { args } of chunks) {
    for (const node of args.data?.cpuProfile?.nodes ?? []) nodes.set(node.id, node);
    const { cpuProfile, timeDeltas = [] } = args.data ?? {};
    for (const [i, delta] of timeDeltas.entries()) {
      // A sample holds until the next one.
      if (last && !AT_REST.includes(last.callFrame.functionName)) {
        spread(share, at, at + delta);
        if (isWasm(last)) wasm += Math.max(0, delta) / 1000;
      }
      at += delta;
      last = nodes.get(cpuProfile?.samples?.[i] ?? -1);
    }
  }
  return { wasm, busy: new Set([...share].flatMap(([ms, part]) => (part >= 0.5 ? [ms] : []))) };
}

/** Adds a time in microseconds to the milliseconds it falls in. */
function spread(share: Map<number, number>, from: number, to: number): void {
  for (let at = from; at < to; ) {
    const ms = Math.floor(at / 1000);
    const end = Math.min(to, (ms + 1) * 1000);
    share.set(ms, (share.get(ms) ?? 0) + (end - at) / 1000);
    at = end;
  }
}

const isWasm = ({ callFrame: { codeType, url = '' } }: ProfileNode): boolean =>
  codeType === 'wasm' || url.includes('wasm');
