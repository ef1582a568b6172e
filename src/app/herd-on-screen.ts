import { batch, type Signal, signal } from '@preact/signals';
import type { Behind } from '../analyses/analysis.ts';
import type { HerdCounts } from '../analyses/load-herd.ts';
import type { Loaded } from './app-state.ts';
import { type Cohort, EVERYONE, isEveryone } from './cohort-choice.ts';
import type { AdmitResult } from './herd-service.ts';
import type { Standing } from './sheet-service.ts';

/** What was read, with the name of the sample where it is one. */
export type Read = AdmitResult & { readonly sample?: string };
type Told = Pick<Standing, 'counts' | 'asOf'>;

/** The herd as the screen has it, and each way in which that changes. */
export interface HerdOnScreen {
  readonly loaded: Signal<Loaded | null>;
  readonly cohort: Signal<Cohort>;
  /** Null while they are being counted. */
  readonly cohortCounts: Signal<HerdCounts | null>;
  /** Grows with every change of cohort or herd. */
  readonly cohortVersion: Signal<number>;
  readonly opened: Signal<Behind | null>;
  /** Rows just read, the whole of them. */
  stand(result: Read, isDemo: boolean): void;
  /** Amendments took effect. */
  amended(standing: Standing): void;
  /** While records are opened, what amendments do is held back: all of it is put on screen as a whole. */
  holdBack(job: () => Promise<void>): Promise<Told | null>;
  /** The engine looks at this cohort; `countsCame` with what it holds follows. */
  narrowed(cohort: Cohort): void;
  countsCame(counts: HerdCounts): void;
  /** The same rows of the same cohort, counted anew. */
  counted(counts: HerdCounts): void;
}

export function makeHerdOnScreen(): HerdOnScreen {
  const loaded = signal<Loaded | null>(null);
  const cohort = signal<Cohort>(EVERYONE);
  const cohortCounts = signal<HerdCounts | null>(null);
  const cohortVersion = signal(0);
  const opened = signal<Behind | null>(null);
  let held: { told: Told | null } | null = null;

  const counted = (counts: HerdCounts): void =>
    batch(() => {
      cohortCounts.value = counts;
      cohortVersion.value += 1;
    });

  return {
    loaded,
    cohort,
    cohortCounts,
    cohortVersion,
    opened,
    stand(result, isDemo) {
      batch(() => {
        loaded.value = { ...result, isDemo };
        cohort.value = EVERYONE;
        opened.value = null;
        counted(result.summary.counts);
      });
    },
    amended(standing) {
      if (held) {
        held.told = standing;
        return;
      }
      const stood = loaded.value;
      if (!stood) return;
      const { counts, asOf } = standing;
      const summary = isEveryone(cohort.value) ? { ...stood.summary, counts } : stood.summary;
      batch(() => {
        loaded.value = { ...stood, summary, asOf: asOf ?? stood.asOf };
        counted(counts);
      });
    },
    async holdBack(job) {
      const holding: NonNullable<typeof held> = { told: null };
      held = holding;
      try {
        await job();
      } finally {
        held = null;
      }
      return holding.told;
    },
    narrowed(next) {
      batch(() => {
        cohort.value = next;
        opened.value = null;
        cohortCounts.value = null;
        cohortVersion.value += 1;
      });
    },
    countsCame(counts) {
      batch(() => {
        // An edit made while the herd was narrowed left its own counts behind.
        const stood = loaded.value;
        if (stood && isEveryone(cohort.value))
          loaded.value = { ...stood, summary: { ...stood.summary, counts } };
        cohortCounts.value = counts;
      });
    },
    counted,
  };
}
