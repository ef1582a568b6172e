import type { Counts } from './format.ts';
import { type Coded, rowsByLevel } from './groups.ts';

/** What some rows hold, and how often each change was seen in them. */
export interface Seen extends Counts {
  readonly onsets: number;
  readonly clearings: number;
}

/** Trim cycles with a problem graded at both ends, 0 clear, 1 present: arrays of length n. */
export interface MoveRows {
  readonly start: Uint8Array;
  readonly end: Uint8Array;
  readonly horse: Int32Array;
  readonly foot: Int32Array;
}

/**
 * What the rows of each level hold; where there is a `reference`, what they hold together with those of that level. Rows
 * of the code -1 are left out.
 */
export function seenByLevel({ start, end, horse, foot }: MoveRows, coded: Coded, reference = -1): Seen[] {
  const rows = rowsByLevel(coded);
  const [isNewHorse, isNewFoot] = [newcomers(horse, reference), newcomers(foot, reference)];
  const seenIn = (level: number): Seen => {
    const moves = new Float64Array(4);
    let [horses, feet] = [0, 0];
    for (const row of rows[level]!) {
      if (isNewHorse(row, level)) horses += 1;
      if (isNewFoot(row, level)) feet += 1;
      moves[2 * start[row]! + end[row]!]! += 1;
    }
    return { horses, feet, cycles: rows[level]!.length, onsets: moves[1]!, clearings: moves[2]! };
  };
  // Its horses and feet come first, so that none of them is counted again with another level.
  const compared = reference < 0 ? null : seenIn(reference);
  return rows.map((_, level) => {
    if (level === reference) return compared!;
    return compared ? together(compared, seenIn(level)) : seenIn(level);
  });
}

const together = (a: Seen, b: Seen): Seen => ({
  horses: a.horses + b.horses,
  feet: a.feet + b.feet,
  cycles: a.cycles + b.cycles,
  onsets: a.onsets + b.onsets,
  clearings: a.clearings + b.clearings,
});

/** Whether a code is met in a level for the first time, level after level; those met in `reference` are new in none after it. */
function newcomers(codes: Int32Array, reference: number): (row: number, level: number) => boolean {
  let most = -1;
  for (let row = 0; row < codes.length; row++) if (codes[row]! > most) most = codes[row]!;
  // A place for -1, where there is one, as for any code.
  const metIn = new Int32Array(most + 2).fill(-1);
  return (row, level) => {
    const place = codes[row]! + 1;
    const met = metIn[place]!;
    if (met === level || (met >= 0 && met === reference)) return false;
    metIn[place] = level;
    return true;
  };
}
