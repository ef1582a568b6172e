import type { Amendment } from './amendment.ts';

/** What one action of the user recorded. */
export interface AmendmentBatch {
  readonly id: string;
  readonly amendments: readonly Amendment[];
}

/** The log as actions, oldest first. */
export function batchesOf(log: readonly Amendment[]): AmendmentBatch[] {
  const batches = new Map<string, Amendment[]>();
  for (const amendment of log) {
    const held = batches.get(amendment.batch);
    if (held) held.push(amendment);
    else batches.set(amendment.batch, [amendment]);
  }
  return [...batches].map(([id, amendments]) => ({ id, amendments }));
}

/** Ids of the amendments that count: those that no counting one undoes. Only later ones can undo. */
export function countingIds(log: readonly Amendment[]): ReadonlySet<string> {
  const undone = new Set<string>();
  const counting = new Set<string>();
  for (const { id, deed } of [...log].reverse()) {
    if (undone.has(id)) continue;
    counting.add(id);
    if (deed.kind === 'undo') for (const other of deed.of) undone.add(other);
  }
  return counting;
}

export interface Steps {
  /** The action that undo would take back; null where there is none. */
  readonly undo: AmendmentBatch | null;
  /** What to undo in turn so that the action last taken back counts again. */
  readonly redo: AmendmentBatch | null;
}

/** Where undo and redo stand, read from the log alone so that they outlive a reload. */
export function stepsOf(log: readonly Amendment[]): Steps {
  const done: AmendmentBatch[] = [];
  const takenBack: { readonly by: AmendmentBatch; readonly action: AmendmentBatch }[] = [];
  for (const batch of batchesOf(log)) {
    const undone = new Set(
      batch.amendments.flatMap(({ deed }) => (deed.kind === 'undo' ? [...deed.of] : [])),
    );
    const isWhole = ({ amendments }: AmendmentBatch) => amendments.every(({ id }) => undone.has(id));
    const redone = takenBack.findIndex(({ by }) => undone.size > 0 && isWhole(by));
    const action = done.findLastIndex((one) => undone.size > 0 && isWhole(one));
    if (redone >= 0) done.push(takenBack.splice(redone, 1)[0]!.action);
    else if (action >= 0) takenBack.push({ by: batch, action: done.splice(action, 1)[0]! });
    else {
      // A new action, or one that takes back a part of an earlier one, leaves nothing to redo.
      takenBack.length = 0;
      done.push(batch);
    }
  }
  return { undo: done.at(-1) ?? null, redo: takenBack.at(-1)?.by ?? null };
}
