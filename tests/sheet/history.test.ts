import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Amendment, Deed } from '../../src/sheet/amendment.ts';
import { deedWords, rowWords } from '../../src/sheet/deed-words.ts';
import { batchesOf, countingIds, stepsOf } from '../../src/sheet/history.ts';

const change = (value: number): Deed => ({
  kind: 'change',
  row: 'H001|2026-03-09|LF',
  column: 'toe_before_mm',
  old: null,
  value,
});

/** A log that grows as a user's clicks make it. */
function scribe() {
  let log: Amendment[] = [];
  const add = (...deeds: Deed[]) => {
    const batch = `b${log.length}`;
    log = [
      ...log,
      ...deeds.map((deed, k) => ({
        id: `${batch}.${k}`,
        at: '2026-03-09T10:00:00Z',
        batch,
        by: null,
        reason: null,
        deed,
      })),
    ];
  };
  const takeBack = (ids: readonly string[]) => add({ kind: 'undo', of: ids });
  return {
    add,
    takeBack,
    log: () => log,
    undo: () => {
      const { undo } = stepsOf(log);
      if (undo) takeBack(undo.amendments.map(({ id }) => id));
    },
    redo: () => {
      const { redo } = stepsOf(log);
      if (redo) takeBack(redo.amendments.map(({ id }) => id));
    },
    /** Values of the changes that count, in order. */
    counting: () => {
      const ids = countingIds(log);
      return log.flatMap(({ id, deed }) => (deed.kind === 'change' && ids.has(id) ? [deed.value] : []));
    },
  };
}

describe('undo and redo', () => {
  it('go back and forth through actions, a new one ending what could be redone', () => {
    const { add, undo, redo, counting, log } = scribe();
    add(change(1), change(2));
    add(change(3));
    undo();
    expect(counting()).toEqual([1, 2]);
    undo();
    expect(counting()).toEqual([]);
    undo();
    expect(counting()).toEqual([]);
    redo();
    expect(counting()).toEqual([1, 2]);
    redo();
    redo();
    expect(counting()).toEqual([1, 2, 3]);
    undo();
    add(change(4));
    redo();
    expect(counting()).toEqual([1, 2, 4]);
    // The log only grows.
    expect(batchesOf(log())).toHaveLength(8);
  });

  it('take back one of many, which is an action of its own', () => {
    const { add, takeBack, undo, counting, log } = scribe();
    add(change(1), change(2), change(3));
    takeBack([log()[1]!.id]);
    expect(counting()).toEqual([1, 3]);
    undo();
    expect(counting()).toEqual([1, 2, 3]);
    undo();
    expect(counting()).toEqual([]);
  });

  it('agree with a plain pair of stacks, whatever is pressed', () => {
    fc.assert(
      fc.property(fc.array(fc.constantFrom('add', 'undo', 'redo'), { maxLength: 30 }), (presses) => {
        const { add, undo, redo, counting } = scribe();
        const done: number[] = [];
        let undone: number[] = [];
        presses.forEach((press, k) => {
          if (press === 'add') {
            add(change(k));
            done.push(k);
            undone = [];
          } else if (press === 'undo') {
            undo();
            if (done.length > 0) undone.push(done.pop()!);
          } else {
            redo();
            if (undone.length > 0) done.push(undone.pop()!);
          }
          expect(counting()).toEqual(done);
        });
      }),
    );
  });
});

describe('deedWords', () => {
  it('says what was done as a sentence', () => {
    expect(deedWords({ ...change(85.4), old: 82 } as Deed)).toBe(
      'H001, 9 March 2026, left fore: Toe length before the trim from 82 mm to 85.4 mm.',
    );
    expect(deedWords({ kind: 'strike', row: 'a|b|2026-03-09|RH' })).toBe(
      'a|b, 9 March 2026, right hind: struck, counts no longer.',
    );
    const mends = { file: 'visits.csv', line: 12, foot: null };
    expect(deedWords({ kind: 'add', row: 'H1|2026-03-09|LH', values: {}, mends })).toContain(
      'mended, from line 12 of visits.csv',
    );
    expect(rowWords('H1|no day|LF 2')).toBe('H1, no day, left fore');
  });
});
