import { signal } from '@preact/signals';
import { expect, test } from 'vitest';
import type { Loaded } from '../../src/app/app-state.ts';
import { EVERYONE } from '../../src/app/cohort-choice.ts';
import { makeHerdOnScreen } from '../../src/app/herd-on-screen.ts';
import { makeOneWork } from '../../src/app/one-work.ts';
import { makeOpening, type OpeningParts } from '../../src/app/opening.ts';
import { EMPTY_STUDY } from '../../src/app/store/kept.ts';

const COUNTS = {
  horses: 2,
  feet: 8,
  visits: 4,
  footVisits: 16,
  cycles: 8,
  flaggedCycles: 0,
  firstDay: 0,
  lastDay: 9,
};
const read = (name: string) =>
  ({
    books: [{ file: name }],
    notices: [],
    asOf: 9,
    summary: { counts: COUNTS, levels: {} },
  }) as unknown as Loaded;

/** A shell without a worker: `answer` says what each call gives. */
function shell(answer: (name: string, input: unknown) => unknown, place = 'here') {
  const calls: string[] = [];
  const trouble = signal<string | null>(null);
  const screen = makeHerdOnScreen();
  const records = { files: [], hemisphere: 'south' as const };
  const study = signal({ ...EMPTY_STUDY, records });
  const parts = {
    herd: {
      async call(name: string, input: unknown) {
        calls.push(name === 'setCohort' ? `setCohort ${input}` : name);
        return answer(name, input);
      },
    },
    screen,
    editing: { log: signal([]), restore: async () => undefined, forget: () => undefined },
    keeping: { place: signal(place), study, derived: signal([]), replaceAll: async () => undefined },
    lookedOver: { look: async () => ({ inspections: [] }) },
    work: makeOneWork(signal(null), trouble, async () => undefined),
    async change(job: (keeping: never) => Promise<void>) {
      await job(parts.keeping as never);
      return true;
    },
    trouble,
    sheet: signal({ kind: 'none' }),
    hemisphere: signal('north'),
    samples: { demo: { title: 'Demo herd', files: async () => [] } },
  };
  return { opening: makeOpening(parts as unknown as OpeningParts), screen, trouble, calls, study };
}

test('a study is not read in a tab that may only look', async () => {
  const { opening, calls, trouble, study, screen } = shell(() => COUNTS, 'elsewhere');
  await opening.study(study.value);
  expect(calls).toEqual([]);
  expect(trouble.value).toContain('another tab');
  expect(screen.loaded.value).toBeNull();
});

test('after a load that failed the cohort is that of the screen again, in the engine as well', async () => {
  const { opening, screen, calls, trouble } = shell(() => COUNTS);
  screen.stand(read('round.csv'), false);
  const ponies = { ...EVERYONE, levels: { breed_type: ['pony'] } };
  screen.narrowed(ponies);
  screen.countsCame({ ...COUNTS, horses: 1 });
  trouble.value = 'no row could be admitted';
  await opening.readAnew(screen.loaded.value!);
  expect(screen.cohort.value).toEqual(ponies);
  expect(calls).toEqual(['setCohort TRUE', `setCohort "breed_type" IN ('pony')`, 'countCohort']);
  expect(trouble.value).toBe('no row could be admitted');
});

test('of two herds opened one after the other the later stands, whichever is read first', async () => {
  const answers: ((value: unknown) => void)[] = [];
  const { opening, screen } = shell((name) =>
    name === 'admit' || name === 'startBlank' ? new Promise((resolve) => answers.push(resolve)) : COUNTS,
  );
  const kept = opening.kept();
  await expect.poll(() => answers.length).toBe(1);
  const sample = opening.sample('demo');
  await expect.poll(() => answers.length).toBe(2);
  answers[1]?.(read('demo'));
  expect(await sample).toBe(true);
  answers[0]?.(COUNTS);
  expect(await kept).toBe(false);
  expect(screen.loaded.value).toMatchObject({ isDemo: true, sample: 'demo' });
});
