import { alikeInClusters } from '../../stats/alike-in-clusters.ts';
import { BEGAN, type CycleKinds, ENDED } from '../cycle-kinds.ts';
import { inOrder } from '../foot-order.ts';
import type { Counts } from '../format.ts';

/** Unflagged trim cycles and what a question finds in each: arrays of length n, numbers alone, which go to any thread. */
export interface AskedCycles {
  /**
   * `NOT_ASKED` where a state is not known; else 1 for the outcome at the next visit, 2 more for the outcome at the trim,
   * 4 more for the exposure.
   */
  readonly states: Uint8Array;
  readonly horse: Int32Array;
  readonly foot: Int32Array;
  readonly nHorses: number;
  readonly nFeet: number;
  readonly kinds: CycleKinds;
}

/** Cycles of one horse that the question cannot tell apart, as one row that counts so often: arrays of length n. */
export interface AlikeAsked {
  readonly weight: Float64Array;
  readonly states: Uint8Array;
  readonly kind: Int32Array;
  readonly horse: Int32Array;
}

export const NOT_ASKED = 255;
export const EXPOSED = 4;
/** States that a question can find. */
export const STATES = 2 * EXPOSED;

/** Those in which the question can be asked, also those that began with the outcome: they tell how fast it clears. */
export function alikeAsked({ states, kinds, horse }: AskedCycles): AlikeAsked {
  const code = new Int32Array(states.length);
  for (let row = 0; row < code.length; row++) {
    code[row] = states[row] === NOT_ASKED ? -1 : STATES * kinds.of[row]! + states[row]!;
  }
  const { row: rows, count } = alikeInClusters(code, horse);
  return {
    weight: count,
    states: inOrder(states, rows),
    kind: inOrder(kinds.of, rows),
    horse: inOrder(horse, rows),
  };
}

/** Among cycles that began clear: how many, and how many had the outcome at the next visit. */
export interface SeenOnset extends Counts {
  readonly onsets: number;
}

export interface SeenOnsets {
  readonly all: SeenOnset;
  readonly exposed: SeenOnset;
  readonly unexposed: SeenOnset;
}

/** Of all cycles in which the question can be asked, and of those of a known mix of groups. */
export function seenOnsets({ states, horse, foot, nHorses, nFeet, kinds }: AskedCycles): {
  readonly crude: SeenOnsets;
  readonly adjusted: SeenOnsets;
} {
  const isKnown = kinds.mix.map((mix) => kinds.mixes.isKnown[mix]!);
  // For each horse and foot: 1 once it was seen without the exposure, 2 more once with it; four times that in a known mix.
  const horses = new Uint8Array(nHorses);
  const feet = new Uint8Array(nFeet);
  // Cycles by their state, from `STATES` on those of a known mix.
  const cycles = new Int32Array(2 * STATES);
  for (let row = 0; row < states.length; row++) {
    const state = states[row]!;
    if ((state & BEGAN) !== 0) continue;
    const known = isKnown[kinds.of[row]!]!;
    const mark = (1 + 4 * known) << (state >> 2);
    horses[horse[row]!]! |= mark;
    feet[foot[row]!]! |= mark;
    cycles[STATES * known + state]! += 1;
  }
  const known = cycles.subarray(STATES);
  const all = known.map((count, state) => count + cycles[state]!);
  const [ofHorses, ofFeet] = [countMarks(horses), countMarks(feet)];
  const seen = (of: Int32Array, shift: number, exposures: number): SeenOnset => {
    const states = [0, 1].flatMap((side) => (exposures & (1 << side) ? [EXPOSED * side] : []));
    return {
      horses: marked(ofHorses, exposures << shift),
      feet: marked(ofFeet, exposures << shift),
      cycles: states.reduce((sum, state) => sum + of[state]! + of[state + ENDED]!, 0),
      onsets: states.reduce((sum, state) => sum + of[state + ENDED]!, 0),
    };
  };
  const onsets = (of: Int32Array, shift: number): SeenOnsets => ({
    all: seen(of, shift, 3),
    exposed: seen(of, shift, 2),
    unexposed: seen(of, shift, 1),
  });
  return { crude: onsets(all, 0), adjusted: onsets(known, 2) };
}

/** How many have each mark, 0 to 15. */
function countMarks(marks: Uint8Array): Int32Array {
  const counts = new Int32Array(16);
  for (const mark of marks) counts[mark]! += 1;
  return counts;
}

/** How many have any of the bits. */
const marked = (counts: Int32Array, bits: number): number =>
  counts.reduce((sum, count, mark) => ((mark & bits) === 0 ? sum : sum + count), 0);
