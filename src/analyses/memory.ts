import { roughBytes } from './rough-bytes.ts';

/**
 * Looks a result up by its key, or has it made and keeps it. What `make` gives must depend on the key and the rows alone.
 * `tookMs` is what it took to make, where that was done before and `make` only hands it over.
 */
export type Remember = <T>(key: string, make: () => Promise<T>, tookMs?: number) => Promise<T>;

/** What was worked out over the rows as they stand, so that nothing need be worked out twice. */
export interface Memory {
  /** Results over one cohort, told apart by any text that names its rows; only while the rows stay as they are now. */
  over(cohort: string): Remembered;
  /** Runs a change of the herd's rows: what was begun before its end is never told after it. */
  during<T>(change: () => Promise<T>): Promise<T>;
}

export interface Remembered {
  /** Which state of the herd's rows it is of: another number after every change of them. */
  readonly rows: number;
  readonly remember: Remember;
  /** What stands ready under a key; undefined where nothing does. */
  ready<T>(key: string): Promise<T> | undefined;
}

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

/** Some fits of a herd of a million rows. */
const MOST_BYTES = 300e6;

/** What takes less counts as much as this: the clock tells no more of it. */
const LEAST_MS = 10;

/**
 * Where it holds too much, what is large and quick to make again goes first, and what was unused for long before the rest:
 * an answer is a hundredth of the fits behind it, and takes all of them to make again, while columns of the herd serve every
 * cohort (GreedyDual-Size, by the time that a thing took and how often it was used: Cao & Irani 1997, Proc USENIX Symp
 * Internet Technol Syst, 193–206; with the number of uses: Cherkasova 1998, Hewlett-Packard HPL-98-69).
 */
export function makeMemory(mostBytes = MOST_BYTES): Memory {
  // In order of use: a Map keeps the order in which its keys were set, so that of equal ranks the oldest is met first.
  const kept = new Map<string, Kept>();
  let rows = 0;
  let bytes = 0;
  /** The rank of what was let go of last. */
  let floor = 0;

  function forget(key: string): void {
    bytes -= kept.get(key)?.bytes ?? 0;
    kept.delete(key);
  }
  function forgetAll(): void {
    rows += 1;
    kept.clear();
    bytes = 0;
    floor = 0;
  }
  const rankOf = ({ cost, uses, bytes }: Kept): number => floor + (uses * cost) / bytes;
  function use(key: string, held: Kept): void {
    held.uses += 1;
    if (held.bytes > 0) held.rank = rankOf(held);
    kept.delete(key);
    kept.set(key, held);
  }
  function weigh(key: string, held: Kept, made: unknown): void {
    if (kept.get(key) !== held) return;
    held.bytes = roughBytes(made);
    bytes += held.bytes;
    // What is more than all that may be kept makes nothing else go.
    if (held.bytes > mostBytes) forget(key);
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
  async function make<T>(key: string, maker: () => Promise<T>, tookMs: number | undefined): Promise<T> {
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
  }

  return {
    over(cohort) {
      const seen = rows;
      const full = (key: string): string => `${cohort}\n${key}`;
      return {
        rows: seen,
        async remember<T>(key: string, maker: () => Promise<T>, tookMs?: number): Promise<T> {
          if (seen !== rows) return maker();
          const held = kept.get(full(key));
          if (!held) return make(full(key), maker, tookMs);
          use(full(key), held);
          try {
            return (await held.value) as T;
          } catch {
            // Whoever had it made may have been stopped; that is no reason to stop the others.
            return maker();
          }
        },
        ready<T>(key: string): Promise<T> | undefined {
          const held = seen === rows ? kept.get(full(key)) : undefined;
          if (!held || held.bytes === 0) return undefined;
          use(full(key), held);
          return held.value as Promise<T>;
        },
      };
    },
    async during(change) {
      forgetAll();
      try {
        return await change();
      } finally {
        forgetAll();
      }
    },
  };
}
