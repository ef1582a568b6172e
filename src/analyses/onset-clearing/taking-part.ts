import type { Coded, Grouping } from '../groups.ts';
import type { PairCells } from '../pair-cells.ts';

export interface OneState {
  readonly grouping: Grouping;
  readonly level: string;
}

/** Of each grouping which levels take part in a comparison: 1 at the place after that of the level, 0 at that of no level. */
type LevelMarks = ReadonlyMap<Grouping, Uint8Array>;

/** 1 for rows, or cells, whose levels all take part. */
export function takingPart(groups: ReadonlyMap<Grouping, Coded>, marks: LevelMarks, n: number): Uint8Array {
  const kept = new Uint8Array(n).fill(1);
  for (const [grouping, isIn] of marks) {
    const { codes } = groups.get(grouping)!;
    for (let row = 0; row < n; row++) if (isIn[codes[row]! + 1] === 0) kept[row] = 0;
  }
  return kept;
}

/** Levels that were seen to begin both clear and affected, until all that are left were. */
export function bothStates(
  cells: PairCells,
  used: readonly (readonly [Grouping, Coded])[],
): { readonly marks: LevelMarks; readonly leftOut: OneState[] } {
  const marks = new Map(
    used.map(([grouping, { levels }]) => [grouping, new Uint8Array(levels.length + 1).fill(1, 1)]),
  );
  const leftOut: OneState[] = [];
  for (let changed = true; changed; ) {
    changed = false;
    for (const [grouping, { levels, codes }] of used) {
      const kept = takingPart(cells.groups, marks, codes.length);
      const seen = new Uint8Array(2 * levels.length);
      for (let cell = 0; cell < codes.length; cell++) {
        if (kept[cell] === 1) seen[2 * codes[cell]! + cells.start[cell]!] = 1;
      }
      levels.forEach((level, k) => {
        if (seen[2 * k] === seen[2 * k + 1]) return;
        leftOut.push({ grouping, level });
        marks.get(grouping)![k + 1] = 0;
        changed = true;
      });
    }
  }
  return { marks, leftOut };
}
