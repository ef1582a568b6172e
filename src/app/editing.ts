import { computed, type ReadonlySignal, signal } from '@preact/signals';
import { isEngineLost } from '../core/engine-lost.ts';
import { makeQueue } from '../engine/in-turn.ts';
import type { Amendment, Deed } from '../sheet/amendment.ts';
import type { Conflict } from '../sheet/conflict.ts';
import { type Steps, stepsOf } from '../sheet/history.ts';
import type { Caller } from './rpc.ts';
import type { SheetMethods, Standing } from './sheet-service.ts';

/** A change that is kept and in the log, and that the rows do not show yet. */
export class NotInEffect extends Error {
  override readonly name = 'NotInEffect';
  constructor(why: unknown) {
    const words = why instanceof Error ? why.message : String(why);
    super(`The change is kept, and comes into effect when the records are opened again: ${words}`);
  }
}

// A type alias, not an interface, so that it satisfies an index signature.
export type SheetCalls = { readonly [N in keyof SheetMethods]: SheetMethods[N] };

/** Makes amendments last: resolves once they are kept, rejects with a sentence where they cannot be. */
type KeepAmendments = (amendments: readonly Amendment[]) => Promise<void>;

/** The log of amendments and the only way to add to it. */
export interface Editing {
  readonly log: ReadonlySignal<readonly Amendment[]>;
  readonly conflicts: ReadonlySignal<readonly Conflict[]>;
  readonly steps: ReadonlySignal<Steps>;
  /** Why nothing may be changed here, in a sentence; null where it may. */
  readonly locked: ReadonlySignal<string | null>;
  /** Records deeds as one action: kept, then put into effect. Rejects with a sentence. */
  record(deeds: readonly Deed[], reason: string | null): Promise<void>;
  /** Takes these amendments back; undone in turn, they count again. */
  takeBack(ids: readonly string[]): Promise<void>;
  undo(): Promise<void>;
  redo(): Promise<void>;
  /** Puts a whole log into effect over what is loaded: after a reload, or over a newer export. */
  restore(log: readonly Amendment[]): Promise<void>;
  /** Forgets the log: other records were opened, to which it does not belong. */
  forget(): void;
}

interface EditingParts {
  readonly herd: Caller<SheetCalls>;
  readonly keep: KeepAmendments;
  /** What the herd holds now. */
  readonly applied: (standing: Standing) => void;
  /** Instant, ISO 8601 in UTC. */
  readonly now: () => string;
  /** Why nothing may be changed; null, or left out, where it may. */
  readonly locked?: ReadonlySignal<string | null>;
}

/** 128 random bits: `randomUUID` is missing where a page is not served securely. */
function newId(): string {
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) =>
    byte.toString(16).padStart(2, '0'),
  ).join('');
}

export function makeEditing({
  herd,
  keep,
  applied,
  now,
  locked = signal<string | null>(null),
}: EditingParts): Editing {
  const log = signal<readonly Amendment[]>([]);
  const conflicts = signal<readonly Conflict[]>([]);
  const steps = computed(() => stepsOf(log.value));
  /** One at a time, in the order asked for. */
  const inTurn = makeQueue();

  function stand(standing: Standing): void {
    conflicts.value = standing.conflicts;
    applied(standing);
  }

  async function add(deeds: readonly Deed[], reason: string | null): Promise<void> {
    if (locked.value !== null) throw new Error(locked.value);
    if (deeds.length === 0) return;
    const batch = newId();
    const at = now();
    const fresh = deeds.map((deed): Amendment => ({ id: newId(), at, batch, by: null, reason, deed }));
    await keep(fresh);
    // Kept, so it is in the log whatever the engine says: a reload puts it into effect.
    log.value = [...log.value, ...fresh];
    try {
      stand(await herd.call('applyAmendments', fresh));
    } catch (error) {
      // It is in the log, and comes into effect with it when the engine is started anew: that much is said elsewhere.
      if (!isEngineLost(error)) throw new NotInEffect(error);
    }
  }

  const takeBack = (ids: readonly string[]) => add([{ kind: 'undo', of: ids }], null);
  return {
    log,
    conflicts,
    steps,
    locked,
    record: (deeds, reason) => inTurn(() => add(deeds, reason)),
    takeBack: (ids) => inTurn(() => takeBack(ids)),
    undo: () =>
      inTurn(async () => {
        const action = steps.value.undo;
        if (action) await takeBack(action.amendments.map(({ id }) => id));
      }),
    redo: () =>
      inTurn(async () => {
        const by = steps.value.redo;
        if (by) await takeBack(by.amendments.map(({ id }) => id));
      }),
    restore: (whole) =>
      inTurn(async () => {
        log.value = whole;
        conflicts.value = [];
        stand(await herd.call('replaceAmendments', whole));
      }),
    forget() {
      log.value = [];
      conflicts.value = [];
    },
  };
}
