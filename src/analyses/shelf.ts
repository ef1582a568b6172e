import { roughBytes } from './rough-bytes.ts';

interface Kept {
  readonly value: Promise<unknown>;
  /** 0 while it is still being made. */
  bytes: number;
  /** What it takes to make it again. */
  cost: number;
  /** How often it was asked for. */
  uses: number;
  /** The lowest goes first: the floor at its last use, and more the dearer, the oftener used and the smaller it is. */
  rank: number;
}

/** Results under keys, up to so many bytes of them. */
export interface Shelf {
  /** What stands under a key, ready or still being made. */
  look(key: string): Promise<unknown> | undefined;
  /** The same where it is ready. */
  ready(key: string): Promise<unknown> | undefined;
  /** Has it made and keeps it. `tookMs` is what it took, where that was done before. */
  make<T>(key: string, maker: () => Promise<T>, tookMs: number | undefined): Promise<T>;
  forgetAll(): void;
}

/** What takes less counts as much as this: the clock tells no more of it. */
const LEAST_MS = 10;

/**
 * Where it holds too much, what is large and quick to make again goes first, and what was unused for long before the rest:
 * an answer is a hundredth of the fits behind it, and takes all of them to make again (GreedyDual-Size, by the time that a
 * thing took and how often it was used: Cao & Irani 1997, Proc USENIX Symp Internet Technol Syst, 193–206; with the number
 * of uses: Cherkasova 1998, Hewlett-Packard HPL-98-69). `mostOfOne`: what is larger by itself is not kept.
 */
export function makeShelf(mostBytes: number, mostOfOne = mostBytes): Shelf {
  // In order of use: a Map keeps the order in which its keys were set, so that of equal ranks the oldest is met first.
  const kept = new Map<string, Kept>();
  let bytes = 0;
  /** The rank of what was let go of last. */
  let floor = 0;

  function forget(key: string): void {
    bytes -= kept.get(key)?.bytes ?? 0;
    kept.delete(key);
  }
  const rankOf = ({ cost, uses, bytes }: Kept): number => floor + (uses * cost) / bytes;
  function use(key: string, held: Kept): Promise<unknown> {
    held.uses += 1;
    if (held.bytes > 0) held.rank = rankOf(held);
    kept.delete(key);
    kept.set(key, held);
    return held.value;
  }
  function weigh(key: string, held: Kept, made: unknown): void {
    if (kept.get(key) !== held) return;
    held.bytes = roughBytes(made);
    bytes += held.bytes;
    // What is more than may be kept makes nothing else go.
    if (held.bytes > mostOfOne) forget(key);
    while (bytes > mostBytes) letGo(held);
    held.rank = rankOf(held);
  }
  function letGo(except: Kept): void {
    let lowest: [string, Kept] | undefined;
    for (const each of kept) {
      const [, held] = each;
      if (
        held !== except &&
        held.bytes > 0 &&
        !(held.rank >= (lowest?.[1].rank ?? Number.POSITIVE_INFINITY))
      ) {
        lowest = each;
      }
    }
    if (!lowest) return;
    floor = lowest[1].rank;
    forget(lowest[0]);
  }
  return {
    look(key) {
      const held = kept.get(key);
      return held && use(key, held);
    },
    ready(key) {
      const held = kept.get(key);
      return held && held.bytes > 0 ? use(key, held) : undefined;
    },
    async make(key, maker, tookMs) {
      const began = performance.now();
      const value = maker();
      const held: Kept = { value, bytes: 0, cost: 0, uses: 1, rank: 0 };
      kept.set(key, held);
      try {
        const made = await value;
        held.cost = Math.max(1, Math.round((tookMs ?? performance.now() - began) / LEAST_MS));
        weigh(key, held, made);
        return made;
      } catch (error) {
        if (kept.get(key) === held) forget(key);
        throw error;
      }
    },
    forgetAll() {
      kept.clear();
      bytes = 0;
      floor = 0;
    },
  };
}
