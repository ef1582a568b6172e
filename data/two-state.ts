import type { Draw } from './random.ts';
import { DAYS_PER_YEAR } from './truth.ts';

/** One run of a problem that is present, in days since 1970-01-01 with a fraction; `end` is null while it lasts. */
export interface Spell {
  readonly start: number;
  end: number | null;
}

/** A foot's problem: its spells so far, the last perhaps still open. */
export class Problem {
  readonly spells: Spell[] = [];

  constructor(present: boolean, day: number) {
    if (present) this.spells.push({ start: day, end: null });
  }

  get present(): boolean {
    const last = this.spells.at(-1);
    return last !== undefined && last.end === null;
  }

  begin(day: number): void {
    this.spells.push({ start: day, end: null });
  }

  clear(day: number): void {
    this.spells.at(-1)!.end = day;
  }
}

export interface CycleRates {
  /** Cumulative hazard of onset over the whole cycle. */
  readonly onsetHazard: number;
  /** Power of time since the cycle's start: 1 is a constant rate. */
  readonly exponent: number;
  readonly clearingPerYear: number;
}

/**
 * Runs a problem exactly through one cycle [from, to]. The cumulative hazard of onset since `from` is
 * H·((t − from)/(to − from))^k, so the next onset after s solves H(t) = H(s) + E with E standard exponential;
 * onsets and clearings between visits may go unseen.
 */
export function runCycle(problem: Problem, from: number, to: number, rates: CycleRates, draw: Draw): void {
  const days = to - from;
  let elapsed = 0;
  while (elapsed < days) {
    if (problem.present) {
      elapsed += (draw.exponential() / rates.clearingPerYear) * DAYS_PER_YEAR;
      if (elapsed < days) problem.clear(from + elapsed);
    } else {
      const used = rates.onsetHazard * (elapsed / days) ** rates.exponent;
      const share = (used + draw.exponential()) / rates.onsetHazard;
      elapsed = days * share ** (1 / rates.exponent);
      if (elapsed < days) problem.begin(from + elapsed);
    }
  }
}
