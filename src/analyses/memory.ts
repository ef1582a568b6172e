import { makeShelf, type Shelf } from './shelf.ts';

/**
 * Looks a result up by its key, or has it made and keeps it. What `make` gives must depend on the key and the rows alone.
 * `tookMs` is what it took to make, where that was done before and `make` only hands it over.
 */
export type Remember = <T>(key: string, make: () => Promise<T>, tookMs?: number) => Promise<T>;

/** What was worked out over the rows as they stand, so that nothing need be worked out twice. */
export interface Memory {
  /**
   * Results over one cohort, told apart by any text that names its rows; only while the rows stay as they are now. Of a
   * large herd less is kept.
   */
  over(cohort: string, isLarge?: boolean): Remembered;
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

/** Some fits of a herd of a million rows. */
const MOST_BYTES = 240e6;
/** Columns of a herd of a million rows that all pages ask for; of one too large to keep them there are none. */
const MOST_HERD_BYTES = 340e6;

/** Answers about a large herd, and the least of its fits, as the forecast of growth; nothing that leaves no room for others. */
const MOST_LARGE_BYTES = 100e6;
const MOST_OF_ONE_LARGE = 0.6;

/** Columns of a large herd, while one question is answered: they stand unused while what was made of them is fitted. */
const MOST_COLUMN_BYTES = 60e6;

/** What remembers columns of a large herd, for one question alone. */
export const forOneQuestion = (mostBytes = MOST_COLUMN_BYTES): Remember =>
  makeMemory(mostBytes).over('one question').remember;

/** The whole herd, whatever the cohort is: no cohort is named so. */
const HERD = '';

/**
 * What follows from the herd's rows serves every cohort, and stands on a shelf of its own: fits of one cohort after the
 * other would push it out, and the next would wait for the engine again.
 */
export function makeMemory(
  mostBytes = MOST_BYTES,
  mostHerdBytes = MOST_HERD_BYTES,
  mostLargeBytes = MOST_LARGE_BYTES,
): Memory {
  const [cohorts, herd] = [makeShelf(mostBytes), makeShelf(mostHerdBytes)];
  const large = makeShelf(mostLargeBytes, MOST_OF_ONE_LARGE * mostLargeBytes);
  let rows = 0;

  function forgetAll(): void {
    rows += 1;
    cohorts.forgetAll();
    herd.forgetAll();
    large.forgetAll();
  }
  return {
    over(cohort, isLarge = false) {
      const seen = rows;
      const ofCohort = isLarge ? large : cohorts;
      const shelf: Shelf = cohort === HERD ? herd : ofCohort;
      const full = (key: string): string => `${cohort}\n${key}`;
      return {
        rows: seen,
        async remember<T>(key: string, maker: () => Promise<T>, tookMs?: number): Promise<T> {
          if (seen !== rows) return maker();
          const held = shelf.look(full(key));
          if (!held) return shelf.make(full(key), maker, tookMs);
          try {
            return (await held) as T;
          } catch {
            // Whoever had it made may have been stopped; that is no reason to stop the others.
            return maker();
          }
        },
        ready<T>(key: string): Promise<T> | undefined {
          return seen === rows ? (shelf.ready(full(key)) as Promise<T> | undefined) : undefined;
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
